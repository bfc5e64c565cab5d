package estimate

import (
	"encoding/json"
	"fmt"
	"math"
)

// What is regressed: a constant, the patterns of the two explanations, the
// probe's excess warmth, the time since the start in days, and the departure of
// the readings from the copy that was held.
const (
	mOne = iota
	mStopped
	mLost
	mWarmth
	mTime
	mDeparture
	mTerms
)

// terms are those of one reading.
type terms [mTerms]float64

// moments are sums over readings of the products of their terms.
type moments [mTerms]terms

// driftFeigned is the standard deviation of a probe's drift, m³/m³ per day,
// that is no dip.
const driftFeigned = 0.005

// add takes a reading of weight w.
func (m *moments) add(w float64, z terms) {
	for i := range m {
		for j := range m[i] {
			m[i][j] += w * (z[i] * z[j]) // so that it is symmetric to the last bit
		}
	}
}

// include adds up two sets of readings.
func (m *moments) include(o moments) {
	for i := range m {
		for j := range m[i] {
			m[i][j] += o[i][j]
		}
	}
}

// take takes out what a term explains, by Gauss's elimination. A ridge — the
// variance of the noise over that of the coefficient's prior — leaves in what
// the prior does not allow it to explain.
func (m *moments) take(term int, ridge float64) {
	pivot := m[term]
	if !(pivot[term]+ridge > 0) {
		return
	}
	for i := range m {
		part := pivot[i] / (pivot[term] + ridge)
		for j := range m[i] {
			m[i][j] -= part * pivot[j]
		}
	}
}

// share is the slope of the departure over a pattern — 0: all is as before, 1:
// it is as the explanation has it — with its standard deviation, for readings
// with a noise variance of at least noise. Warmth may explain what its
// coefficient's variance allows, and a drift of the probe what driftFeigned
// does.
func (m moments) share(pattern int, noise, warm float64) (k, sd float64) {
	n := m[mOne][mOne]
	m.take(mOne, 0)
	if !(m[pattern][pattern] > 0) {
		return 0, math.Inf(1)
	}
	noise = math.Max(noise, (m[mDeparture][mDeparture]-sq(m[pattern][mDeparture])/m[pattern][pattern])/n)
	if warm > 0 {
		m.take(mWarmth, noise/warm)
	}
	m.take(mTime, noise/sq(driftFeigned))
	return m[pattern][mDeparture] / m[pattern][pattern], math.Sqrt(noise / m[pattern][pattern])
}

// spread is the sum of the squares of a pattern about its mean.
func (m moments) spread(pattern int) float64 {
	m.take(mOne, 0)
	return m[pattern][pattern]
}

// MarshalJSON writes the half above the diagonal; the other is the same.
func (m moments) MarshalJSON() ([]byte, error) {
	half := make([]float64, 0, mTerms*(mTerms+1)/2)
	for i := range m {
		half = append(half, m[i][i:]...)
	}
	return json.Marshal(half)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (m *moments) UnmarshalJSON(data []byte) error {
	var half []float64
	if err := json.Unmarshal(data, &half); err != nil {
		return err
	}
	if want := mTerms * (mTerms + 1) / 2; len(half) != want {
		return fmt.Errorf("moments of %d numbers, want %d", len(half), want)
	}
	for i := range m {
		for j := i; j < mTerms; j++ {
			m[i][j], m[j][i] = half[0], half[0]
			half = half[1:]
		}
	}
	return nil
}
