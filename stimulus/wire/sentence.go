package wire

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"hilrig/rig/signal"
)

// SentenceKind says which sentence of NMEA 0183 a message is.
type SentenceKind uint8

// The sentences.
const (
	NoSentence SentenceKind = iota
	RMC                     // recommended minimum: time, position, speed, course, date
	VTG                     // course and speed over ground
)

var sentenceNames = [...]string{"", "RMC", "VTG"}

// Sentence declares a message of a satellite speed receiver after NMEA 0183: a line of
// text with a checksum. Course and position follow the car's motion, the x axis
// pointing north at the start; the place and the date are invented: 50° N 10° E at
// noon of 1 January 2000 when the run begins.
type Sentence struct {
	Kind   SentenceKind
	Talker string // two capital letters; "": GP
	// Noise of the speed, rms, in m/s. Less than one hundredth of a knot is taken as that.
	Noise float64
}

// The invented place in 1/10000 minute, and metres per 1/10000 minute there. A
// minute of latitude is a nautical mile; one of longitude is that times the cosine of 50°.
const (
	northHome      = 50 * 60 * 10000
	eastHome       = 10 * 60 * 10000
	metresPerNorth = 1852.0 / 10000
	metresPerEast  = metresPerNorth * 0.6427876096865394
)

const (
	knot         = 1852.0 / 3600   // m/s
	hundredth    = knot / 100      // the speed's least step
	fullCircle   = 36000           // 1/100 deg
	mostKnots    = 99999           // 1/100
	farthest     = 600000.0        // m from home, about 5.4 degrees
	noon         = 12 * 3600       // s
	secondsOfDay = 24 * 3600       // s
	course       = 18000 / math.Pi // 1/100 deg per rad
)

// sentence writes the lines of one message.
type sentence struct {
	kind   SentenceKind
	head   string  // "GPRMC,"
	noise  float64 // m/s
	values [4]int64
}

// layOutSentence makes cfg's message a line of text.
func (e *FrameEncoder) layOutSentence(cfg Frame) error {
	s := cfg.Sentence
	if s.Talker == "" {
		s.Talker = "GP"
	}
	switch {
	case s.Kind > VTG:
		return fmt.Errorf("sentence of kind %d; use RMC or VTG", s.Kind)
	case len(cfg.Fields) > 0:
		return errors.New("a sentence with fields; leave the fields out")
	case len(s.Talker) != 2 || s.Talker[0] < 'A' || s.Talker[0] > 'Z' || s.Talker[1] < 'A' || s.Talker[1] > 'Z':
		return fmt.Errorf("talker %q; write two capital letters, such as GP", s.Talker)
	case !finite(s.Noise) || s.Noise < 0:
		return fmt.Errorf("noise %g of speed; write 0 or more", s.Noise)
	}
	e.channels = []string{"speed", "heading"}
	if s.Kind == RMC {
		e.channels = append(e.channels, "position_x", "position_y")
	}
	e.sentence = &sentence{kind: s.Kind, head: s.Talker + sentenceNames[s.Kind] + ",", noise: max(s.Noise, hundredth)}
	e.said = make([]float64, len(e.channels))
	e.size = len(e.sentence.line(nil, 0))
	return cfg.Stuffing.check()
}

// build appends the next line.
func (s *sentence) build(dst []byte, e *FrameEncoder, values []float64) []byte {
	noisy := [4]float64{float64(s.noise * e.noise.Norm()), float64(1 / course * e.noise.Norm())}
	if s.kind == RMC {
		noisy[2] = float64(metresPerNorth * e.noise.Norm())
		noisy[3] = float64(metresPerEast * e.noise.Norm())
	}
	for i := range e.channels {
		if i < len(values) && values[i] == values[i] {
			noisy[i] += values[i]
		}
	}
	if !e.stuck || e.count == 0 {
		s.encode(noisy)
		e.said[0] = float64(s.values[0]) * hundredth
		copy(e.said[1:], noisy[1:])
	}
	start := len(dst)
	dst = s.line(dst, e.next)
	if e.wrong { // the last digit of the checksum becomes another
		at := start + len(dst[start:]) - 3
		dst[at] = hexDigit(hexValue(dst[at]) ^ 0x5)
	}
	return dst
}

// encode turns speed, heading and position to the whole numbers of a line.
func (s *sentence) encode(v [4]float64) {
	speed, angle := v[0], float64(-v[1]*course)
	if speed < 0 { // backwards: a receiver knows no reverse
		speed, angle = -speed, angle+fullCircle/2
	}
	s.values[0] = int64(min(math.Round(speed/hundredth), mostKnots))
	s.values[1] = int64(math.Mod(math.Mod(math.Round(min(max(angle, -1e15), 1e15)), fullCircle)+fullCircle, fullCircle))
	s.values[2] = northHome + int64(math.Round(min(max(v[2], -farthest), farthest)/metresPerNorth))
	s.values[3] = eastHome - int64(math.Round(min(max(v[3], -farthest), farthest)/metresPerEast))
}

// line appends the line of the present values, at time at of the run.
func (s *sentence) line(dst []byte, at signal.Time) []byte {
	dst = append(dst, '$')
	start := len(dst)
	dst = append(dst, s.head...)
	knots, angle := s.values[0], s.values[1]
	if s.kind == RMC {
		hundredths := int64(at / (10 * signal.Millisecond))
		day, of := (hundredths/100+noon)/secondsOfDay, (hundredths/100+noon)%secondsOfDay
		dst = digits(dst, of/3600*10000+of/60%60*100+of%60, 6)
		dst = digits(append(dst, '.'), hundredths%100, 2)
		dst = append(dst, ",A,"...)
		dst = append(degrees(dst, s.values[2], 2), ",N,"...)
		dst = append(degrees(dst, s.values[3], 3), ",E,"...)
		dst = append(decimal(dst, knots), ',')
		dst = append(decimal(dst, angle), ',')
		dst = digits(dst, date(day), 6)
		dst = append(dst, ",,,A"...)
	} else {
		dst = append(decimal(dst, angle), ",T,,M,"...)
		dst = append(decimal(dst, knots), ",N,"...)
		dst = append(decimal(dst, (knots*1852+500)/1000), ",K,A"...)
	}
	sum := XorOf8(dst[start:])
	return append(dst, '*', hexDigit(sum>>4), hexDigit(sum&0xF), '\r', '\n')
}

// digits appends the last n digits of x, which is not negative.
func digits(dst []byte, x int64, n int) []byte {
	for at := n; at > 0; at-- {
		dst = append(dst, '0')
	}
	for i := len(dst) - 1; i >= len(dst)-n; i-- {
		dst[i] = '0' + byte(x%10)
		x /= 10
	}
	return dst
}

// decimal appends hundredths as 003.25, with more digits where it takes them.
func decimal(dst []byte, hundredths int64) []byte {
	if whole := hundredths / 100; whole < 1000 {
		dst = digits(dst, whole, 3)
	} else {
		dst = strconv.AppendInt(dst, whole, 10)
	}
	return digits(append(dst, '.'), hundredths%100, 2)
}

// degrees appends 1/10000 minutes as degrees of n digits and minutes.
func degrees(dst []byte, minutes int64, n int) []byte {
	dst = digits(dst, minutes/600000, n)
	dst = digits(dst, minutes%600000/10000, 2)
	return digits(append(dst, '.'), minutes%10000, 4)
}

// date returns the day so many days after 1 January 2000 as ddmmyy.
func date(day int64) int64 {
	year := int64(0)
	for {
		length := int64(365)
		if year%4 == 0 {
			length = 366
		}
		if day < length {
			break
		}
		day -= length
		year++
	}
	for month, length := range [12]int64{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31} {
		if month == 1 && year%4 == 0 {
			length = 29
		}
		if day < length {
			return (day+1)*10000 + int64(month+1)*100 + year%100
		}
		day -= length
	}
	return 0 // not reached: day is within the year
}

func hexDigit(v byte) byte { return "0123456789ABCDEF"[v&0xF] }

func hexValue(digit byte) byte {
	if digit >= 'A' {
		return digit - 'A' + 10
	}
	return digit - '0'
}
