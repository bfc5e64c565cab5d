package twin

import (
	"context"
	"hash/fnv"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// Case is a trial on a bench, with its outcome under every seed.
type Case struct {
	Bench    Bench
	Trial    Trial
	Outcomes []Outcome // by seed
}

// Study runs every trial on every bench under n seeds.
func Study(ctx context.Context, benches []Bench, trials []Trial, n int) ([]Case, error) {
	var cases []Case
	for _, b := range benches {
		for _, t := range trials {
			cases = append(cases, Case{b, t, make([]Outcome, n)})
		}
	}
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range cases {
		for k := range n {
			g.Go(func() (err error) {
				c := &cases[i]
				c.Outcomes[k], err = Run(ctx, c.Bench, c.Trial, c.seed(k))
				return err
			})
		}
	}
	return cases, g.Wait()
}

// seed is another one for every case, so that no two share their luck.
func (c Case) seed(k int) uint64 {
	h := fnv.New64a()
	_, _ = h.Write([]byte(c.Bench.Name + "/" + c.Trial.Name)) // never fails
	return h.Sum64() + uint64(k)
}
