package plot

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

// However many rules there are: no pole goes through a name, no name over
// another, and every pole that has a name reaches it.
func TestFlagsStandClear(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		const right = vg.Length(400) // far enough for all
		names := rapid.SliceOfN(rapid.IntRange(0, 4), 0, 12).Draw(t, "names")
		var f flags
		for _, n := range names {
			pole := vg.Length(rapid.Float64Range(0, 300).Draw(t, "pole"))
			f = append(f, flag{name: string(rune('a' + n)), pole: pole, width: vg.Length(20 * (n + 1))})
		}
		f.arrange(right)
		for i, a := range f {
			assert.Less(t, a.row, flagRows)
			for j, b := range f {
				if i == j || a.row < 0 || b.row < 0 {
					continue
				}
				through := b.pole > a.left && b.pole < a.left+a.width && b.row >= a.row
				assert.False(t, through, "the pole of %v goes through %v", b, a)
			}
		}
		assert.LessOrEqual(t, f.rows(), flagRows)
	})
}

func TestFlagsAreFew(t *testing.T) {
	t.Parallel()
	one := flags{{name: "now", pole: 390, width: 30}}
	one.arrange(400)
	assert.Equal(t, flags{{name: "now", pole: 390, width: 30, left: 370}}, one, "what would leave the picture is moved in")
	twice := flags{{name: "warm", pole: 10, width: 30}, {name: "warm", pole: 20, width: 30}, {name: "dry", pole: 15, width: 30}}
	twice.arrange(400)
	assert.Equal(t, 2, twice.rows(), "the same name side by side is written once")
	assert.Zero(t, flags{}.rows())
}
