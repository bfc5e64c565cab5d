package config

import "strings"

// ack makes what takes answers by MQTT.
func (b *builder) ack(raw *rawAck) *Ack {
	if raw == nil || !raw.given() {
		return nil
	}
	a := &Ack{Topic: raw.Topic.value, Trusted: raw.Trusted.value}
	if !b.checkTopic(raw.Topic, a.Topic) {
		return a
	}
	b.checkTemplate(raw.Topic, "")
	for s := range b.sources {
		if s.topic == a.Topic || s.topic == a.Reply() {
			b.report(raw.Topic.place, "a sensor publishes to this topic or to that of the replies", "choose another, for example wickd/ack")
			return a
		}
	}
	return a
}

// route makes the way in which alerts go out: to people, or to a server that
// tells them. Two ways at once would call people twice and be answered in two
// places.
func (b *builder) route(raw *rawNotify, n *Notify) {
	b.exactlyOne(raw.place, "an alert goes out one way: give recipients, or alertmanager, for example recipients: {grower: {url_file: grower-url}}",
		way{"recipients", len(raw.Recipients) > 0}, way{"alertmanager", raw.Alertmanager != nil})
	n.Alertmanager = b.alertmanager(raw.Alertmanager)
	if n.Alertmanager != nil && raw.Weekly.given() {
		b.report(raw.Weekly.place, "an Alertmanager carries no digest", "leave weekly out, or name recipients in place of alertmanager")
	}
	r := raw.Relay
	if r == nil || !r.given() {
		return
	}
	b.exactlyOne(r.place, "give url_file or url_env (whoever knows the URL can post to it), for example url_file: relay-url",
		way{"url_file", r.URLFile.given()}, way{"url_env", r.URLEnv.given()})
	n.Relay = b.kept(r.URLFile, r.URLEnv)
	if raw.Alertmanager != nil {
		b.report(r.place, "an Alertmanager sends no buttons of wickd's", "leave relay out, or name recipients in place of alertmanager")
	}
	if b.raw.MQTT == nil || b.raw.MQTT.Ack == nil {
		b.report(r.place, "nothing takes what the relay passes on", "name the topic that it publishes to, for example mqtt.ack: {topic: wickd/ack}")
	}
}

func (b *builder) alertmanager(raw *rawAlertmanager) *Alertmanager {
	if raw == nil || !raw.given() {
		return nil
	}
	if raw.URL.given() {
		b.checkURL(raw.URL, []string{"http", "https"}, "http://127.0.0.1:9093")
	}
	a := &Alertmanager{URL: strings.TrimRight(raw.URL.value, "/"), Username: raw.Username.value, Password: b.secret(raw.PasswordFile, raw.PasswordEnv)}
	if a.Password.Given() != (a.Username != "") {
		b.report(raw.place, "a user and a password belong together", "for example username: wickd, password_file: alertmanager-password")
	}
	return a
}
