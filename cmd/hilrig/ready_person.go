package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/preflight"
)

// person is whoever sits at the terminal.
type person struct {
	ctx      context.Context
	out      io.Writer
	answers  chan string // lines; closed where there are no more
	terminal *os.File    // at which the person sits; nil: the answers come another way
}

// attendedBy returns who reads the command's output and writes its input.
func attendedBy(c *cobra.Command) *person {
	in := c.InOrStdin()
	p := &person{ctx: c.Context(), out: c.OutOrStdout(), answers: make(chan string), terminal: terminalOf(in)}
	go func() {
		defer close(p.answers)
		for lines := bufio.NewScanner(in); lines.Scan(); {
			select {
			case p.answers <- strings.TrimSpace(lines.Text()):
			case <-p.ctx.Done():
				return
			}
		}
	}()
	return p
}

var errNobody = errors.New("nobody answers")

// ask asks until the answer is yes or no.
func (p *person) ask(question string) (yes bool, err error) {
	word, err := p.choose(question, 0, "y", "yes", "n", "no")
	return word == "y" || word == "yes", err
}

// choose asks until the answer is one of these words, and at most for patience; 0:
// without end. It returns that word. What was typed at a terminal before the question does
// not count.
func (p *person) choose(question string, patience time.Duration, words ...string) (string, error) {
	if p.terminal != nil {
		if err := dropTyped(p.terminal); err != nil {
			return "", err
		}
		p.unsaid()
	}
	var late <-chan time.Time
	if patience > 0 {
		late = time.After(patience)
	}
	for {
		fmt.Fprintf(p.out, "  > %s ", question)
		select {
		case <-p.ctx.Done():
			return "", p.ctx.Err()
		case <-late:
			fmt.Fprintln(p.out)
			return "", errNobody
		case line, more := <-p.answers:
			if !more {
				fmt.Fprintln(p.out)
				return "", errNobody
			}
			if word := strings.ToLower(line); slices.Contains(words, word) {
				return word, nil
			}
		}
	}
}

// unsaid lets go of what was written before it was asked for.
func (p *person) unsaid() {
	for {
		select {
		case _, more := <-p.answers:
			if !more {
				return
			}
		case <-time.After(saidBefore):
			return
		}
	}
}

// saidBefore is how long a line that was written already takes to come.
const saidBefore = 50 * time.Millisecond

// MoveStop asks for the stop contact to be moved.
func (p *person) MoveStop(open bool) error {
	text := "Close the stop contact: pull or turn the button out."
	if open {
		text = "Open the stop contact: press the button."
	}
	_, err := fmt.Fprintf(p.out, "  > %s\n", text)
	return errors.Join(err, p.ctx.Err())
}

// Powered asks for the lamp.
func (p *person) Powered() (bool, error) {
	return p.ask("Is the lamp behind the relay lit, yes or no?")
}

// rehearsed is a rehearsal whose part of a person is reported as it goes.
type rehearsed struct {
	*preflight.Rehearsal
	out io.Writer
}

// MoveStop moves the contact in memory.
func (r rehearsed) MoveStop(open bool) error {
	fmt.Fprintf(r.out, "  > the stop contact is %s\n", map[bool]string{false: "closed", true: "opened"}[open])
	return r.Rehearsal.MoveStop(open)
}

// Powered looks at the lamp in memory.
func (r rehearsed) Powered() (bool, error) {
	on, err := r.Rehearsal.Powered()
	fmt.Fprintf(r.out, "  > the lamp behind the relay is %s\n", map[bool]string{false: "dark", true: "lit"}[on])
	return on, err
}
