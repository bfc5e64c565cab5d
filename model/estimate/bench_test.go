package estimate

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"wickd/model/design"
	"wickd/model/sim"
)

// BenchmarkSnapshotOfManyBags is one evaluation of ten thousand bags of one
// kind: its cost must grow with their number, not with its square.
func BenchmarkSnapshotOfManyBags(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			site := sim.DemoSite()
			one := site.Bags[0]
			site.Bags = site.Bags[:0]
			for i := range n {
				one.ID = fmt.Sprintf("m%d", i)
				site.Bags = append(site.Bags, one)
			}
			d, err := design.Build(site)
			require.NoError(b, err)
			e, err := New(Options{Design: d})
			require.NoError(b, err)
			e.Advance(begin)
			for b.Loop() {
				e.Snapshot(begin, nil)
			}
		})
	}
}
