//go:build full

package suites_test

import (
	"testing"

	"hilrig/suites"
)

// TestFormatsInFull plays all standard suites in each format.
func TestFormatsInFull(t *testing.T) { onFormats(t, suites.Options{}) }
