package main

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/interlock"
	"hilrig/suites/live"
)

// typist is the output of a program, and somebody who types once its question is written.
type typist struct {
	bytes.Buffer
	question string
	answer   func()
}

func (w *typist) Write(p []byte) (int, error) {
	n, err := w.Buffer.Write(p)
	if w.answer != nil && strings.Contains(w.String(), w.question) {
		w.answer()
		w.answer = nil
	}
	return n, err
}

// A yes that stands before the question was given to something else.
func TestOnlyWhatComesAfterTheQuestionConfirms(t *testing.T) {
	for _, tt := range []struct {
		name, before, after string
		queued              int // of before, as the terminal shows it to a reader
		confirmed           bool
	}{
		{"yes after", "", "yes\n", 0, true},
		{"no after", "", "no\n", 0, false},
		{"yes before, no after", "yes\n", "no\n", 4, false},
		{"yes before, return after", "yes\n", "\n", 4, false},
		{"no before, yes after", "no\n", "yes\n", 3, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			person, program := openTerminal(t)
			defer person.Close()
			defer program.Close()
			types := func(text string) {
				_, err := person.WriteString(text)
				require.NoError(t, err)
			}
			types(tt.before)
			require.Eventually(t, func() bool {
				n, err := unix.IoctlGetInt(int(program.Fd()), unix.TIOCINQ)
				return err == nil && n == tt.queued
			}, time.Minute, time.Millisecond)
			out := &typist{question: "Type yes if it is, anything else to stop: ", answer: func() { types(tt.after) }}
			err := confirm(t.Context(), program, out, "yes", interlock.WheelsOffGround, live.List(interlock.WheelsOffGround))
			if tt.confirmed {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, errNotConfirmed)
		})
	}
}

// The questions of ready, before the motors get their supply among them, are no other.
func TestOnlyWhatComesAfterAQuestionIsItsAnswer(t *testing.T) {
	writer, program := openTerminal(t)
	defer writer.Close()
	defer program.Close()
	_, err := writer.WriteString("yes\n")
	require.NoError(t, err)
	typed := func() (n int) {
		n, err := unix.IoctlGetInt(int(program.Fd()), unix.TIOCINQ)
		require.NoError(t, err)
		return n
	}
	require.Eventually(t, func() bool { return typed() == 4 }, time.Minute, time.Millisecond)
	answers := make(chan string, 2)
	answers <- "yes" // it was read already
	out := &typist{question: "Well?", answer: func() {
		assert.Zero(t, typed())
		answers <- "no"
	}}
	p := &person{ctx: t.Context(), out: out, answers: answers, terminal: terminalOf(program)}
	yes, err := p.ask("Well?")
	require.NoError(t, err)
	assert.False(t, yes)
}

func TestNobodyIsAskedWithoutATerminal(t *testing.T) {
	var out bytes.Buffer
	require.ErrorContains(t, confirm(t.Context(), strings.NewReader("yes\n"), &out, "yes", interlock.MotorsNoWheels, live.List(interlock.MotorsNoWheels)), "standard input is no terminal")
	require.ErrorContains(t, confirm(t.Context(), strings.NewReader("yes\n"), &out, "no", interlock.MotorsNoWheels, live.List(interlock.MotorsNoWheels)), "somebody has to stand by")
	require.NoError(t, confirm(t.Context(), strings.NewReader(""), &out, "no", interlock.SignalsOnly, live.List(interlock.SignalsOnly)))
	assert.Empty(t, out.String())
	person, program := openTerminal(t)
	defer person.Close()
	defer program.Close()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, confirm(ctx, program, &out, "yes", interlock.SignalsOnly, live.List(interlock.SignalsOnly)), context.Canceled)
}
