// Package grafana holds the Grafana dashboard of a site, wickd.json, and the Go
// code that it is generated from.
//
// The dashboard reads the metrics that wickd exposes, through any Prometheus
// data source; import wickd.json and choose the source. From top to bottom it
// answers: does anything need somebody, how are the bags, how is the solution,
// do the sensors send, does wickd itself work.
//
// Colours are of the Okabe–Ito set, which stays apart for readers with any of
// the common kinds of colour blindness, and no meaning rests on colour alone.
// Many bags in one picture are shades of one hue; the legend names them.
//
// The file is written again by: go generate ./deploy/grafana
package grafana

//go:generate go test -count=1 -run TestTheFileIsCurrent -update .
