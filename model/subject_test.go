package model_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

func TestPartsOfASubject(t *testing.T) {
	for s, want := range map[model.Subject]struct {
		kind, id string
		owner    model.Subject
		quantity model.Quantity
	}{
		"bag/a4/moisture":   {"bag", "a4", "bag/a4", model.Moisture},
		"reservoir/tank/ec": {"reservoir", "tank", "reservoir/tank", model.EC},
		"air/temperature":   {"air", "temperature", "air/temperature", model.Temperature},
		"bag":               {"bag", "", "bag", ""},
	} {
		assert.Equal(t, want.kind, s.Kind(), s)
		assert.Equal(t, want.id, s.ID(), s)
		assert.Equal(t, want.owner, s.Owner(), s)
		assert.Equal(t, want.quantity, s.Quantity(), s)
	}
}
