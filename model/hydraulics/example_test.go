package hydraulics_test

import (
	"fmt"

	"wickd/model/hydraulics"
)

// A bag of strawberries: how much it holds, what its wicks can lift, and what a
// bright hour does to it.
func Example() {
	coir, _ := hydraulics.Typical("coir")
	wool, _ := hydraulics.Typical("stone wool")
	tube := hydraulics.LayFlat(17, 80, 0.95)
	store, err := hydraulics.NewStore(tube, coir.Material)
	if err != nil {
		fmt.Println(err)
		return
	}
	wick := hydraulics.Wick{Material: wool.Material, Section: 6, Count: 2, Lift: 8}
	supply, err := hydraulics.NewSupply(wick)
	if err != nil {
		fmt.Println(err)
		return
	}
	bag, err := hydraulics.NewBag(store, supply, hydraulics.BagOptions{Feddes: hydraulics.Feddes{Dry1: 200, Dry2: 8000}})
	if err != nil {
		fmt.Println(err)
		return
	}
	rest := store.Equilibrium(wick.Lift)
	fmt.Printf("%.1f L, %.1f cm high, holds %.1f L at rest, %.1f L of it easily available\n",
		store.Volume()/1000, tube.Height(), rest/1000, store.EasilyAvailable(wick.Lift)/1000)
	fmt.Printf("wicks lift at most %.1f L/h\n", supply.Flow(hydraulics.EasySuction)/1000)
	hour := bag.Step(rest, 150, 1, 1)
	fmt.Printf("in a bright hour %.0f mL drunk, %.0f mL lifted\n", hour.TakenUp, hour.Wicked)
	// Output:
	// 7.0 L, 8.8 cm high, holds 3.9 L at rest, 1.8 L of it easily available
	// wicks lift at most 0.4 L/h
	// in a bright hour 150 mL drunk, 43 mL lifted
}
