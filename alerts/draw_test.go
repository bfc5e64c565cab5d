package alerts

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

// What a large house draws in a day is told by the day, as everything else of it is.
func TestAHouseDrawsByTheDay(t *testing.T) {
	r := &model.ReservoirEstimate{DrawPerDay: model.Measured{Value: 131, Quality: model.Fresh}}
	assert.Equal(t, "It supplies 131 L/d", gives(r, "It supplies %s"))
	assert.Equal(t, "Over the last day it supplied 131 L/d in all", gives(r, "Over the last day it supplied %s in all"))
	r.DrawPerDay.Value = 14.2
	assert.Equal(t, "It supplies 14.2 L/d", gives(r, "It supplies %s"))
}
