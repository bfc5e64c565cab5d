package twin

import (
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var (
	update = flag.Bool("update", false, "run the whole study and write TWIN.md")
	only   = flag.String("only", "", "with -update, print the trials whose names hold this instead")
	on     = flag.String("on", "", "the benches whose names hold this")
	put    = flag.Bool("put", false, "with -on, put the benches into TWIN.md, in place of those that are there")
	seeds  = flag.Int("seeds", 3, "with -update, how many seeds")
)

const command = "go test ./cmd/internal/twin -run TestStudy -update -timeout 0"

// TestStudy is the whole study; it takes minutes and runs only when asked.
func TestStudy(t *testing.T) {
	if !*update {
		t.Skip("the study runs with -update")
	}
	var benches []Bench
	for _, b := range Benches() {
		if strings.Contains(b.Name, *on) {
			benches = append(benches, b)
		}
	}
	var trials []Trial
	for _, s := range Trials() {
		for _, part := range strings.Split(*only, ",") {
			if strings.Contains(s.Name, part) {
				trials = append(trials, s)
				break
			}
		}
	}
	cases, err := Study(t.Context(), benches, trials, *seeds)
	require.NoError(t, err)
	for _, c := range cases {
		for seed, o := range c.Outcomes {
			for _, a := range o.False {
				t.Logf("%s, %s, seed %d: %s %s %s %s at %.1f h: %s", c.Bench.Name, c.Trial.Name, seed+1, a.Condition, a.Subject, a.Cause, a.Priority, a.Time.Sub(start()).Hours(), a.Message.Why)
			}
			if c.Trial.Wanted != nil {
				t.Logf("%s, %s, seed %d: found %v named %v after %.1f h as %s, a bag dry after %.1f h", c.Bench.Name, c.Trial.Name, seed+1, o.Found, o.Named, o.Delay.Hours(), o.As, o.Dries.Hours())
			}
		}
	}
	table := Table(cases, command)
	switch {
	case *put && *only == "":
		before, err := os.ReadFile("TWIN.md")
		require.NoError(t, err)
		table, err = Replace(string(before), table)
		require.NoError(t, err)
	case *only != "" || *on != "":
		t.Log("\n" + table)
		return
	}
	require.NoError(t, os.WriteFile("TWIN.md", []byte(table), 0o644))
}
