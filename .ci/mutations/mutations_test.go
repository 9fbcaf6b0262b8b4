package main

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const source = `package p

const limit = 3

// F says a + b.
func F(a, b int) int { return a + b }

type T[E any] struct{}

func (t *T[E]) F(a int) int { return a + a }
`

func TestARowChangesItsDeclarationAlone(t *testing.T) {
	for _, tt := range []struct {
		in, text, with string
		want           string // of what is found in the result
		err            string
	}{
		{in: "F", text: "a + b", with: "a - b", want: "// F says a + b.\nfunc F(a, b int) int { return a - b }"},
		{in: "T.F", text: "a + a", with: "a", want: "func (t *T[E]) F(a int) int { return a }"},
		{in: "limit", text: "3", with: "4", want: "const limit = 4"},
		{in: "F", text: "a + a", err: "occurs 0 times"},
		{in: "T.F", text: "a", err: "occurs 3 times"},
		{in: "G", text: "a", err: "declares no G"},
		{in: "T.G", text: "a", err: "declares no T.G"},
	} {
		got, err := row{File: "p.go", In: tt.in, Text: tt.text, With: tt.with}.change([]byte(source))
		if tt.err != "" {
			require.ErrorContains(t, err, tt.err, tt.in)
			continue
		}
		require.NoError(t, err)
		assert.Contains(t, string(got), tt.want)
		assert.Len(t, got, len(source)-len(tt.text)+len(tt.with))
	}
}

func TestOnlyAFailedTestKills(t *testing.T) {
	exit := errors.New("exit status 1")
	for _, tt := range []struct {
		out  string
		err  error
		want result
	}{
		{"ok  \tp\t0.1s", nil, survived},
		{"--- FAIL: TestF (0.00s)\nFAIL", exit, killed},
		{"panic: runtime error: index out of range [recovered]", exit, killed},
		{"p.go:3:2: undefined: a\nFAIL\tp [build failed]", exit, failed},
		{"panic: test timed out after 1m0s\n--- FAIL: TestF", exit, failed},
		{"", errors.Join(exit, context.DeadlineExceeded), failed},
	} {
		got, _ := judge(tt.out, tt.err)
		assert.Equal(t, tt.want, got, tt.out)
	}
}

func TestATestThatDoesNotExistIsReported(t *testing.T) {
	known := map[string][]string{"./p ": {"TestF", "TestFar"}}
	require.NoError(t, killer{Package: "./p", Run: "^TestF$/^sub$"}.exists(known))
	require.ErrorContains(t, killer{Package: "./p", Run: "^TestG$"}.exists(known), "no test that")
	require.Error(t, killer{Package: "./none", Run: "^TestF$"}.exists(known))
}

func TestTheSameSeedChoosesTheSameRows(t *testing.T) {
	var rows []row
	for name := 'a'; name <= 'z'; name++ {
		rows = append(rows, row{Name: string(name)})
	}
	one, err := choose(rows, options{count: 10, seed: "abc"})
	require.NoError(t, err)
	again, err := choose(rows, options{count: 10, seed: "abc"})
	require.NoError(t, err)
	other, err := choose(rows, options{count: 10, seed: "abd"})
	require.NoError(t, err)
	assert.Len(t, one, 10)
	assert.Equal(t, one, again)
	assert.NotEqual(t, one, other)
	_, err = choose(rows, options{only: "none"})
	assert.Error(t, err)
}
