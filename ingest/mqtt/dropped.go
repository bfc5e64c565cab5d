package mqtt

import (
	"strconv"
	"strings"
)

// droppedTopic is where mosquitto publishes, retained, how many messages it
// dropped since it started, over all clients (mosquitto(8), "Broker Status").
const droppedTopic = "$SYS/broker/publish/messages/dropped"

// dropCounter turns the broker's running total into increases.
type dropCounter struct {
	seen bool
	last uint64
}

// update takes a new total. Before the first total nothing can be said about an
// increase. A total below the last one means that the broker started anew, and
// counts whole.
func (d *dropCounter) update(payload []byte) (total, increase uint64, ok bool) {
	total, err := strconv.ParseUint(strings.TrimSpace(string(payload)), 10, 64)
	if err != nil {
		return 0, 0, false
	}
	switch {
	case !d.seen:
	case total < d.last:
		increase = total
	default:
		increase = total - d.last
	}
	d.seen, d.last = true, total
	return total, increase, true
}
