package estimate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model/design"
)

// A bag has a reservoir: the site file says so, and so does New.
func TestABagOfNoReservoirIsRefused(t *testing.T) {
	for _, id := range []string{"", "elsewhere"} {
		site := small(2, 100)
		site.Channels[1].Reservoir = id
		d, err := design.Build(site)
		require.NoError(t, err)
		_, err = New(Options{Design: d})
		assert.EqualError(t, err, "estimate: bag b1: its channel b is fed by no reservoir of the site")
	}
}
