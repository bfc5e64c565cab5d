package daemon

import (
	"fmt"
	"slices"
	"strings"
)

// notes are what an operator should know of a wickd that works, and that no
// alert says: what the broker refuses to send is silent for ever, and its
// sensors' own alerts do not tell why; and a subject that was put aside looks
// healthy while nothing is told of it.
func (d *Daemon) notes() []string {
	var notes []string
	if why := d.source.notHeard(); why != nil {
		notes = append(notes, "Not all is heard: "+strings.TrimPrefix(why.Error(), "subscribe: "))
	}
	for _, s := range slices.Concat(d.keeper.shelves(), d.watch.shelves()) {
		notes = append(notes, fmt.Sprintf("Nothing is told of %s until %s: it is put aside; to take it up again: wickd shelve --off %s",
			s.Subject, s.Until.In(d.zone()).Format(moment), s.Subject))
	}
	return notes
}
