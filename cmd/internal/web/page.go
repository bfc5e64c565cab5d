package web

import (
	"cmp"
	"embed"
	"net/http"
	"slices"
	"time"

	"wickd/model"
)

//go:embed *.html style.css
var assets embed.FS

// page answers with the site on one page.
func (s *Server) page(w http.ResponseWriter, _ *http.Request) {
	s.write(w, http.StatusOK, "page.html", s.view())
}

func style(w http.ResponseWriter, r *http.Request) {
	http.ServeFileFS(w, r, assets, "style.css")
}

// view is the page's content, every figure already in words.
type view struct {
	Site, Version, AsOf string
	Summary             string
	Notice              string   // why the figures are not to be relied on; empty: they are
	Notes               []string // whom messages do not reach, and what else an operator should know
	Open                []alertView
	Aside               []alertView // shelved, suppressed, out of service
	Reservoirs          []reservoirView
	Channels            []channelView
	Roots               []rootView
	Troubled            []sensorView // those with something wrong
	Sensors             []sensorView // all, with their ages
	Daemon              []pair
}

// pair is a term and what there is to say about it.
type pair struct{ Term, Value string }

func (s *Server) view() view {
	d := s.document()
	c := clock{now: d.Now, zone: s.options.TimeZone}
	v := view{
		Site:    cmp.Or(d.Site, "wickd"),
		Version: d.Version,
		AsOf:    "no estimates yet",
		Notice:  d.NotReady,

		Notes: append(each(d.Daemon.Undelivered, c.undelivered), d.Notes...),

		Reservoirs: each(d.Reservoirs, c.reservoir),
		Channels:   c.channels(d),
		Roots:      c.roots(d.Bags),
		Troubled:   c.troubled(d.Sensors),
		Sensors:    c.ages(d.Sensors),
		Daemon:     c.daemon(d.Daemon),
	}
	if d.Time != nil {
		v.AsOf = c.moment(*d.Time)
		if age := d.Now.Sub(*d.Time); age > stillNew {
			v.AsOf += ", " + Span(age) + " ago"
		}
	}
	for _, a := range byUrgency(d.Alerts) {
		if setAside(a.State) {
			v.Aside = append(v.Aside, c.alert(a))
		} else {
			v.Open = append(v.Open, c.alert(a))
		}
	}
	v.Summary = summary(len(v.Open), d.Time != nil)
	return v
}

// stillNew is how old what is known may be before its age is said: it is
// evaluated every minute.
const stillNew = 3 * time.Minute

func summary(open int, estimated bool) string {
	switch {
	case open > 0:
		return count(open, "alert") + " open"
	case !estimated:
		return "Nothing is known of the bags yet"
	default:
		return "Nothing needs doing"
	}
}

func setAside(state string) bool {
	return state == "shelved" || state == "suppressed" || state == "out-of-service"
}

// byUrgency sorts the most urgent first, then what has been so for longest.
func byUrgency(alerts []AlertDoc) []AlertDoc {
	order := []model.Priority{model.PriorityUrgent, model.PriorityHigh, model.PriorityMedium, model.PriorityLow}
	sorted := slices.Clone(alerts)
	slices.SortStableFunc(sorted, func(a, b AlertDoc) int {
		return cmp.Or(
			cmp.Compare(slices.Index(order, a.Priority), slices.Index(order, b.Priority)),
			since(a).Compare(since(b)),
		)
	})
	return sorted
}
