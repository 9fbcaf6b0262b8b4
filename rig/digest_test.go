package rig_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// digest drives two seconds in closed loop and returns the trace's digest.
func digest(t *testing.T, seed uint64) string {
	r := drive(t, seed)
	var tr trace.Trace
	require.NoError(t, r.Play(context.Background(), closed(2*signal.Second), &tr))
	h := sha256.New()
	tr.Hash(h)
	return hex.EncodeToString(h.Sum(nil))
}
