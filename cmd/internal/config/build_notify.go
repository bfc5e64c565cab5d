package config

import (
	"fmt"
	"net/url"
	"strings"
	"time"

	"wickd/model"
)

func (b *builder) notify() Notify {
	var n Notify
	raw := b.raw.Notify
	if raw == nil {
		return n
	}
	for _, name := range inOrder(raw.Recipients) {
		if r := raw.Recipients[name]; r.given() && b.checkID(r.place, name) {
			n.Recipients = append(n.Recipients, b.recipient(name, r))
		}
	}
	b.checkFirst(raw, n.Recipients)
	b.route(raw, &n)
	n.PageURL = b.pageURL(raw.PageURL)
	n.Weekly = b.weekly(raw.Weekly)
	n.Heartbeat = b.heartbeat(raw.Heartbeat)
	return n
}

func (b *builder) recipient(name string, raw rawRecipient) Recipient {
	r := Recipient{Name: name, URL: b.kept(raw.URLFile, raw.URLEnv), MinPriority: model.PriorityLow}
	b.exactlyOne(raw.place, "give url_file or url_env (the service's URL holds secrets), for example url_file: grower-url",
		way{"url_file", raw.URLFile.given()}, way{"url_env", raw.URLEnv.given()})
	if raw.MinPriority.given() {
		r.MinPriority = model.Priority(raw.MinPriority.value)
	}
	r.Quiet = b.quiet(raw.Quiet)
	if raw.EscalateAfter.given() {
		r.EscalateAfter = seconds(raw.EscalateAfter)
	}
	return r
}

// checkFirst warns of an escalation that begins with nobody.
func (b *builder) checkFirst(raw *rawNotify, all []Recipient) {
	for _, r := range all {
		if r.EscalateAfter == 0 {
			return
		}
	}
	if len(all) > 0 {
		b.warn(raw.place, "nobody is told at once: every recipient has escalate_after", "leave it out for whoever is to act first")
	}
}

// pageURL reads the outside base URL of the page.
func (b *builder) pageURL(t text) string {
	if !t.given() {
		return ""
	}
	const example = "https://yard.example"
	b.checkURL(t, []string{"https", "http"}, example)
	u, err := url.Parse(t.value)
	if err != nil {
		return ""
	}
	switch {
	case u.RawQuery != "" || u.ForceQuery || u.Fragment != "":
		b.report(t.place, "the page's URL has a query or a fragment", "for example "+example)
	case u.Scheme == "http" && !loopback(u.Hostname()+":0"):
		b.warn(t.place, "links that act travel unencrypted", "put a proxy with a certificate before wickd and use https")
	}
	return strings.TrimRight(t.value, "/")
}

// weekly reads "Sunday 18:00".
func (b *builder) weekly(t text) *Weekly {
	if !t.given() {
		return nil
	}
	name, clock, _ := strings.Cut(strings.TrimSpace(t.value), " ")
	at, err := time.Parse("15:04", strings.TrimSpace(clock))
	for day := time.Sunday; err == nil && day <= time.Saturday; day++ {
		if long := day.String(); strings.EqualFold(name, long) || strings.EqualFold(name, long[:3]) {
			return &Weekly{Day: day, At: sinceMidnight(at)}
		}
	}
	b.report(t.place, fmt.Sprintf("%q is not a time of the week", t.value), `for example "Sunday 18:00"`)
	return nil
}

func (b *builder) heartbeat(raw *rawHeartbeat) *Heartbeat {
	if raw == nil || !raw.given() {
		return nil
	}
	b.exactlyOne(raw.place, "give url_file or url_env (whoever knows the URL can fake a heartbeat), for example url_file: heartbeat-url",
		way{"url_file", raw.URLFile.given()}, way{"url_env", raw.URLEnv.given()})
	h := &Heartbeat{URL: b.kept(raw.URLFile, raw.URLEnv), Every: defaultHeartbeat}
	if raw.Every.given() {
		h.Every = seconds(raw.Every)
	}
	return h
}

func (b *builder) quiet(t text) *Quiet {
	h, ok := b.hours(t, `for example "22:00-06:00"`)
	switch {
	case !ok:
		return nil
	case h.To-h.From == wholeDay:
		b.report(t.place, fmt.Sprintf("%q is quiet for ever", t.value), "give min_priority: urgent in its place")
		return nil
	}
	return &Quiet{From: h.From, To: h.To % wholeDay}
}
