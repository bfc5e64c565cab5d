package main

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// Whatever is taken for a truth can be drawn: every figure lies within its
// bounds, and time goes on.
func FuzzTruth(f *testing.F) {
	f.Add([]byte(`{"bags": ["a1"], "rows": [{"tst": "2026-06-01T08:00:00Z", "theta": [0.5], "uptake_l": [0], "vol": 120, "leak_l": 0, "ec": 1.4, "ph": 5.8}]}`))
	f.Add([]byte(`{"bags": ["a1", "a2"], "rows": [{"tst": "2026-06-01T08:00:00Z", "theta": [null, 1]}, {"tst": "2026-06-01T09:00:00+02:00"}]}`))
	f.Add([]byte(`{"rows": [{"vol": 1e999}]}`))
	packed, err := os.ReadFile("testdata/bench/truth.json.gz")
	require.NoError(f, err)
	f.Add(packed)
	site := &model.Site{Bags: []model.Bag{{ID: "a1"}, {ID: "a2"}}, Reservoirs: []model.Reservoir{{ID: "tank"}}}
	f.Fuzz(func(t *testing.T, data []byte) {
		var table truthTable
		if table.read(bytes.NewReader(data)) != nil {
			return
		}
		so, err := table.of(site)
		if err != nil {
			return
		}
		assert.False(t, so.from.After(so.to))
		hold := func(s *series, low, high float64) {
			require.Len(t, s.values, len(s.at))
			for i, v := range s.values {
				assert.True(t, v >= low && v <= high, "%g", v)
				assert.True(t, i == 0 || s.at[i].After(s.at[i-1]))
			}
		}
		for id, s := range so.water {
			hold(s, 0, 1)
			hold(so.uptake[id], -mostLitres, mostLitres)
		}
		hold(so.volume, 0, mostLitres)
		hold(so.ec, 0, 20)
		hold(so.ph, 0, 14)
		for _, v := range so.leaked.perDay(1).values {
			assert.True(t, finite(v))
		}
	})
}
