// Package serialtest is a pair of pseudo terminals, for tests of what sends on a serial
// device.
package serialtest
