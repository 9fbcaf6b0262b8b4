//go:build realtime && !full

package main

// killMoments is at how many moments a run is ended in each way.
const killMoments = 4
