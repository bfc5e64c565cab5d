// Package deploy has no code of its own: it is where the files are tested that
// put wickd on a machine. Each is given to the program that will read it, as far
// as that program can be had, and skipped with the reason where it cannot; with
// CI=true a missing program is a failure.
//
//	systemd/     the service                     systemd-analyze
//	prometheus/  scrape configuration, rules     promtool
//	grafana/     the dashboard, made from Go     package wickd/deploy/grafana
//	mosquitto/   a broker that loses nothing     mosquitto
//	compose/     the whole as containers         structure only
//	debian/      the Debian package              structure only
//	site.yaml    an example site                 wickd itself
//
// That the metrics named in rules and dashboard exist, and that every query
// finds something in a real Prometheus, is tested beside the code that exposes
// them, in cmd/internal/expose.
package deploy
