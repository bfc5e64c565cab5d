package twin

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/model/sim"
)

// What a gateway hands over late is decoded with the time at which it was measured.
func TestWhatIsHandedOverLateKeepsItsTime(t *testing.T) {
	for _, b := range Benches() {
		site := b.site()
		decoder, err := daemon.NewDecoder(site)
		require.NoError(t, err)
		truth, err := sim.New(sim.Options{Site: site, Seed: 1, Start: start(), Step: b.Every})
		require.NoError(t, err)
		_, sent := truth.Advance()
		for _, m := range sent {
			payload, at := b.handed(m)
			readings, refused := decoder.Decode(ingest.Message{Arrived: at, Topic: m.Topic, Payload: payload})
			require.Empty(t, refused, b.Name)
			require.Len(t, readings, 1, b.Name)
			assert.Equal(t, m.Time, readings[0].Time, b.Name)
			if b.Held > 0 {
				assert.Equal(t, start().Add(b.Held), at)
			}
		}
	}
	held := Bench{Held: 3 * time.Hour}
	_, at := held.handed(sim.Message{Time: start().Add(3 * time.Hour), Payload: []byte(`{"value":1}`)})
	assert.Equal(t, start().Add(3*time.Hour), at, "what is measured at that moment is handed over then")
}
