package daemon

import "strings"

// notes are what an operator should know of a wickd that works, and that no
// alert says: what the broker refuses to send is silent for ever, and its
// sensors' own alerts do not tell why.
func (d *Daemon) notes() []string {
	d.source.mu.Lock()
	defer d.source.mu.Unlock()
	if d.source.refused == nil {
		return nil
	}
	return []string{"Not all is heard: " + strings.TrimPrefix(d.source.refused.Error(), "subscribe: ")}
}
