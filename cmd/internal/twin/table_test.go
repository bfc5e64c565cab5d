package twin

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReplaceABench(t *testing.T) {
	const older = "# old head\n\n## Bench: plain (every 10 min, 1 % lost)\na\n\n## Bench: tall (every 10 min, 1 % lost)\nb\n"
	out, err := Replace(older, "# head\n\n## Bench: plain (every 5 min, 1 % lost)\nc\n")
	require.NoError(t, err)
	assert.Equal(t, "# head\n\n## Bench: plain (every 5 min, 1 % lost)\nc\n\n## Bench: tall (every 10 min, 1 % lost)\nb\n", out)
	_, err = Replace(older, "# head\n\n## Bench: wide (every 5 min, 1 % lost)\nc\n")
	assert.ErrorContains(t, err, `no bench "wide"`)
}
