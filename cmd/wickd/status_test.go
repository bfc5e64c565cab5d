package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/cmd/internal/web"
	"wickd/model"
)

// The salt at the roots stands beside the water of each bag: how much, how sure,
// what the crop bears and how long there is. What is not known is a dash.
func TestStatusShowsSalt(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	at, limit, sd := now.Add(11*24*time.Hour+time.Hour), 3.0, 0.31
	salty := web.BagDoc{Bag: "p1", SaltLimit: &limit, SaltLimitAt: &at, Salt: figureOf(2.46, model.Fresh), Temperature: figureOf(24.3, model.Fresh)}
	salty.Salt.SD = &sd
	tank := web.ReservoirDoc{Reservoir: "tank", Temperature: figureOf(18.5, model.Fresh)}
	warm := 25.0
	tank.Temperature.SD, tank.TemperatureLimit = &sd, &warm
	over := salty
	past := now.Add(-time.Hour)
	over.Bag, over.SaltLimitAt = "p2", &past
	text := statusText(web.Document{Now: now, Ready: true, Bags: []web.BagDoc{salty, over, {Bag: "p3"}}, Reservoirs: []web.ReservoirDoc{tank}})
	words := strings.Join(strings.Fields(text), " ")
	assert.Contains(t, words, "p1 – – – – – 2.5 0.3 3.0 12 d 24.3 –")
	assert.Contains(t, words, "p2 – – – – – 2.5 0.3 3.0 now 24.3 –")
	assert.Contains(t, words, "p3 – – – – – – – – – – –")
	assert.Contains(t, words, "18.5 ± 0.3 °C (limit 25)")
	for _, line := range strings.Split(text, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 100, line)
	}
}
