//go:build !race

package estimate

const raceDetector = false
