package web

import (
	"encoding/json"
	"net/http"

	"wickd/model"
)

func (s *Server) snapshot(w http.ResponseWriter, _ *http.Request) {
	body, err := json.MarshalIndent(s.document(), "", "  ")
	if err != nil {
		refuse(w, http.StatusInternalServerError, "write the snapshot as JSON: "+err.Error())
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Write(append(body, '\n'))
}

// document is everything that is known, as one value. Order is that of the
// snapshot and of the alerts as they were given.
func (s *Server) document() Document {
	snap := s.options.Snapshot()
	d := Document{
		Site:       s.options.SiteName,
		Version:    s.options.Version,
		TimeZone:   s.options.TimeZone.String(),
		Now:        s.options.Now().UTC(),
		Time:       instant(snap.Time),
		Ready:      true,
		Notes:      s.options.Notes(),
		Alerts:     each(s.options.Alerts(), alertDoc),
		Bags:       each(snap.Bags, bagDoc),
		Channels:   each(snap.Channels, channelDoc),
		Reservoirs: each(snap.Reservoirs, reservoirDoc),
		Sensors:    each(snap.Sensors, sensorDoc),
		Daemon:     daemonDoc(snap.Daemon),
	}
	if s.options.Site != nil {
		state(d.Reservoirs, s.options.Site)
	}
	d.Daemon.Undelivered = each(s.options.Undelivered(), undeliveredDoc)
	if err := s.options.Ready(); err != nil {
		d.Ready, d.NotReady = false, err.Error()
	}
	return d
}

// state adds what the site file says of the reservoirs.
func state(reservoirs []ReservoirDoc, site *model.Site) {
	for i, r := range reservoirs {
		built, ok := site.ReservoirByID(r.Reservoir)
		if !ok {
			continue
		}
		reservoirs[i].Water = waterDoc(built.Water)
		if built.MaxTemp > 0 {
			reservoirs[i].TemperatureLimit = number(built.MaxTemp)
		}
	}
}

// each maps a slice; it gives an empty slice, never nil, so that a list in the
// JSON is always a list.
func each[A, B any](in []A, f func(A) B) []B {
	out := make([]B, 0, len(in))
	for _, one := range in {
		out = append(out, f(one))
	}
	return out
}
