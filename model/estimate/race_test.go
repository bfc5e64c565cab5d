//go:build race

package estimate

// raceDetector is on: long scenes of a single goroutine show it nothing and
// take five times as long.
const raceDetector = true
