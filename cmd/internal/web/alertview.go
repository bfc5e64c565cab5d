package web

import (
	"cmp"
	"fmt"
	"net/http"
	"strings"
	"time"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

// alertPage is the content of one alert's page, in words.
type alertPage struct {
	Site, AsOf string
	Said       string // what came of the button that was pressed; empty: none was
	Over       bool   // the alert is no longer open
	alertView
	Subject  string
	Evidence []pair
	Pictures []picture
	Confirm  string   // token of the button; empty: there is nothing to acknowledge
	PutAside []button // empty: it cannot be put aside
	TakeUp   string   // token of the button; empty: it is not put aside
	To       string   // who holds the link
}

type button struct{ Label, Token string }

// find looks an open alert up.
func (s *Server) find(occurrence string) (expose.AlertState, bool) {
	for _, a := range s.options.Alerts() {
		if a.Occurrence == occurrence {
			return a, true
		}
	}
	return expose.AlertState{}, false
}

func (s *Server) writeAlert(w http.ResponseWriter, r *http.Request, status int, claim Claim, said string) {
	now := s.options.Now()
	c := clock{now, s.options.TimeZone}
	page := alertPage{Site: cmp.Or(s.options.SiteName, "wickd"), AsOf: c.moment(now), Said: said, To: claim.Recipient}
	a, open := s.find(claim.Occurrence)
	if !open {
		page.Over = true
		page.Message.Headline = "This alert is over"
		page.Subject = subjectOf(claim.Occurrence)
		s.write(w, status, "alert.html", page)
		return
	}
	page.alertView = c.alert(alertDoc(a))
	page.Subject = string(a.Subject)
	snap := s.options.Snapshot()
	page.Evidence = c.evidence(a.Subject, snap)
	page.Pictures = s.pictures(r.Context(), a, snap, c)
	s.offer(&page, a, claim, now)
	s.write(w, status, "alert.html", page)
}

// offer adds the buttons for what can still be done.
func (s *Server) offer(page *alertPage, a expose.AlertState, claim Claim, now time.Time) {
	token := func(action Action, until time.Time) string {
		expires := now.Add(buttonFor)
		if claim.Expires.Before(expires) {
			expires = claim.Expires
		}
		return s.options.Signer.Token(Claim{
			Occurrence: claim.Occurrence, Action: action, Recipient: claim.Recipient, Expires: expires, Until: until,
		})
	}
	if a.By == "" {
		page.Confirm = token(Confirm, time.Time{})
	}
	if a.State == "shelved" {
		page.TakeUp = token(TakeUp, time.Time{})
	}
	if a.State == "unacknowledged" || a.State == "acknowledged" {
		for _, o := range shelvings {
			page.PutAside = append(page.PutAside, button{o.label, token(PutAside, now.Add(o.span))})
		}
	}
}

// subjectOf reads the subject in an occurrence, condition|subject|time.
func subjectOf(occurrence string) string {
	parts := strings.Split(occurrence, "|")
	if len(parts) != 3 {
		return ""
	}
	return parts[1]
}

// evidence is what is known of the thing that an alert is about.
func (c clock) evidence(subject model.Subject, snap model.Snapshot) []pair {
	var facts []pair
	owner := subject.Owner()
	for _, b := range snap.Bags {
		if model.BagSubject(b.Bag) == owner {
			facts = append(facts, c.bagFacts(bagDoc(b))...)
		}
	}
	for _, ch := range snap.Channels {
		if model.ChannelSubject(ch.Channel) == owner {
			facts = append(facts, c.channelFacts(ch)...)
		}
	}
	for _, r := range snap.Reservoirs {
		if model.ReservoirSubject(r.Reservoir) == owner {
			facts = append(facts, c.reservoir(reservoirDoc(r)).Facts...)
			facts = append(facts, told("Diagnosis", string(r.Cause), r.Evidence)...)
		}
	}
	for _, h := range snap.Sensors {
		if h.Sensor == subject || h.Sensor.Owner() == owner {
			facts = append(facts, pair{"Sensor " + strings.TrimPrefix(string(h.Sensor), string(owner)+"/"), c.sensor(sensorDoc(h))})
		}
	}
	return facts
}

func (c clock) bagFacts(b BagDoc) []pair {
	limits := nothing
	if b.DryLimit != nil && b.WetLimit != nil {
		limits = fmt.Sprintf("%.0f to %.0f %%", 100**b.DryLimit, 100**b.WetLimit)
	}
	facts := []pair{
		{"Water in the bag", spread(b.WaterContent, 100, 0, "%")},
		{"Dry and wet limit", limits},
		{"Plants drink", spread(b.UptakePerDay, 1, 1, "L/day")},
		{"Wicks, of as built", spread(b.WickHealth, 100, 0, "%")},
		{"Dry", c.maybe(b.DryAt) + c.between(b.Dry.P05, b.Dry.P95)},
	}
	return append(facts, told("Diagnosis", string(b.Cause), b.Evidence)...)
}

func (c clock) channelFacts(ch model.ChannelEstimate) []pair {
	var facts []pair
	if ch.Dry {
		facts = append(facts, pair{"Feeds none of its bags since", c.moment(ch.Since)})
	}
	return append(facts, told("Diagnosis", "", ch.Evidence)...)
}

// told is a fact if there is anything to tell.
func told(term, name, evidence string) []pair {
	text := strings.ReplaceAll(name, "-", " ")
	if text != "" && evidence != "" {
		text += ": "
	}
	if text += evidence; text == "" {
		return nil
	}
	return []pair{{term, text}}
}

// spread prints a figure with its standard deviation.
func spread(f Figure, scale float64, decimals int, unit string) string {
	if f.Value == nil || f.SD == nil {
		return amount(f, scale, decimals, unit)
	}
	alone := amount(Figure{Value: f.Value}, scale, decimals, "")
	return alone + " ± " + strings.TrimSpace(amount(Figure{Value: f.SD, AgeSeconds: f.AgeSeconds, Quality: f.Quality}, scale, decimals, unit))
}
