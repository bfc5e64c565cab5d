package hydraulics

import (
	"flag"
	"os"
	"testing"
)

// Every property here builds tables; a dozen draws a run keep the suite quick.
// Ask for more with -rapid.checks.
func TestMain(m *testing.M) {
	flag.Parse()
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" })
	if !asked {
		if err := flag.Set("rapid.checks", "12"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
