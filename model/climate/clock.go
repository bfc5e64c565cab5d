package climate

import (
	"math/bits"
	"time"
)

// binOf numbers the bin of t from the Unix epoch, also before it.
func binOf(t time.Time) int64 {
	return floorDiv(t.Unix(), int64(binWidth/time.Second))
}

// hourOf numbers the hour of a bin.
func hourOf(bin int64) int64 { return floorDiv(bin, binsPerHour) }

// hourOfDay returns the UTC hour, 0..23, of a numbered hour.
func hourOfDay(hour int64) int { return int(floorMod(hour, 24)) }

func floorDiv(a, b int64) int64 { return (a - floorMod(a, b)) / b }

func floorMod(a, b int64) int64 { return ((a % b) + b) % b }

// hoursHeard is a set of hours of the day.
type hoursHeard uint32

// wholeDay is how many of 24 hours must have been heard before their extremes
// pass for a day's: dawn and early afternoon are then rarely both missing.
const wholeDay = 20

func (s *hoursHeard) add(hour int) { *s |= 1 << hour }

func (s hoursHeard) count() int { return bits.OnesCount32(uint32(s)) }

func (s hoursHeard) enough() bool { return s.count() >= wholeDay }
