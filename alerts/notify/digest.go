package notify

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"wickd/model"
)

// Digested is the change of a notice that is a digest and no alert.
const Digested model.Change = "digest"

// Digest is what a week was like. Figures that are not known are left out.
type Digest struct {
	From, To  time.Time
	Drinks    []Drink  // in the order of the site
	Solutions []Course // in the order of the site
	Raised    int      // alerts that people were told of
	Open      int      // that are open now
	Sensors   int      // that are watched
	Troubled  []string // sensors with something wrong, in words
	Waiting   int      // deliveries that could not be made yet
}

// Drink is what the plants of one crop drank.
type Drink struct {
	Crop   string
	Plants int
	Litres float64 // of all of them, over the week
}

// Course is how the solution of a reservoir changed.
type Course struct {
	Reservoir string
	EC, PH    Span
}

// Span is a figure's way over the week. Zero Samples: it was never known.
type Span struct {
	First, Last, Lowest, Highest float64
	Samples                      int
}

// Add takes the next sample; what is not a number is passed over.
func (s *Span) Add(v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return
	}
	if s.Samples == 0 {
		s.First, s.Lowest, s.Highest = v, v, v
	}
	s.Last, s.Lowest, s.Highest = v, min(s.Lowest, v), max(s.Highest, v)
	s.Samples++
}

// Weekly plans a digest for every recipient. The keys come from the week's end
// alone, so that planning it again, after a restart, sends nothing twice.
func Weekly(now time.Time, zone *time.Location, d Digest, recipients []Recipient) ([]Delivery, error) {
	occurrence := string(Digested) + "|" + d.To.UTC().Format(time.RFC3339)
	body, err := json.Marshal(Notice{
		Time: d.To, Occurrence: occurrence, Kind: Digested, Priority: model.PriorityLow, Message: d.message(zone),
	})
	if err != nil {
		return nil, fmt.Errorf("plan the weekly digest: %w", err)
	}
	planned := make([]Delivery, 0, len(recipients))
	for _, r := range recipients {
		planned = append(planned, Delivery{
			Key: occurrence + "|" + r.ID, Recipient: r.ID, Body: body,
			NotBefore: notBefore(now, model.Transition{Priority: model.PriorityLow}, r),
		})
	}
	return planned, nil
}

// message puts a digest in words. Everybody gets it, whatever the priority they
// ask for, because it is also the test that a message reaches them.
func (d Digest) message(zone *time.Location) model.Message {
	why := []string{fmt.Sprintf("From %s to %s.", d.From.In(zone).Format("Mon 2 Jan"), d.To.In(zone).Format("Mon 2 Jan"))}
	for _, c := range d.Drinks {
		if c.Plants > 0 {
			why = append(why, fmt.Sprintf("%s: %.1f L a plant, %.0f L in all.", c.Crop, c.Litres/float64(c.Plants), c.Litres))
		}
	}
	for _, c := range d.Solutions {
		if text := c.text(); text != "" {
			why = append(why, c.Reservoir+": "+text+".")
		}
	}
	why = append(why, d.health())
	return model.Message{
		Headline: fmt.Sprintf("The week: %s, %d open now", plural(d.Raised, "alert"), d.Open),
		Why:      strings.Join(why, "\n"),
		Action:   "This message is also the weekly test: if it fails to come, see whether wickd runs and reaches your phone.",
	}
}

func (c Course) text() string {
	var parts []string
	if c.EC.Samples > 0 {
		parts = append(parts, fmt.Sprintf("EC %.1f to %.1f mS/cm (%.1f–%.1f)", c.EC.First, c.EC.Last, c.EC.Lowest, c.EC.Highest))
	}
	if c.PH.Samples > 0 {
		parts = append(parts, fmt.Sprintf("pH %.1f to %.1f (%.1f–%.1f)", c.PH.First, c.PH.Last, c.PH.Lowest, c.PH.Highest))
	}
	return strings.Join(parts, ", ")
}

func (d Digest) health() string {
	text := fmt.Sprintf("%s watched, all well.", plural(d.Sensors, "sensor"))
	if len(d.Troubled) > 0 {
		shown := d.Troubled[:min(named, len(d.Troubled))]
		text = fmt.Sprintf("%s watched, %d in trouble: %s", plural(d.Sensors, "sensor"), len(d.Troubled), strings.Join(shown, ", "))
		if more := len(d.Troubled) - len(shown); more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		text += "."
	}
	if d.Waiting > 0 {
		text += fmt.Sprintf(" %s could not be delivered yet.", plural(d.Waiting, "message"))
	}
	return text
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
