package daemon

import (
	"context"
	"encoding/json"
	"net/url"
	"time"

	"wickd/alerts/notify"
	"wickd/cmd/internal/web"
)

// buildLinks makes the signer of links and answers, if the site file says where
// the page is reached or where answers come in.
func (d *Daemon) buildLinks() error {
	base := d.o.Config.Notify.PageURL
	if base == "" && d.o.Config.MQTT.Ack == nil {
		return nil
	}
	key, err := pageKey(d.o.Data)
	if err != nil {
		return err
	}
	d.signer, err = web.NewSigner(key, base)
	return err
}

// links are the addresses under which a recipient looks at an alert and
// answers it. A digest has a picture and nothing to answer.
func (d *Daemon) links(n notify.Notice, recipient string, now time.Time) notify.Links {
	if d.signer == nil {
		return notify.Links{}
	}
	page := d.signer.Link(n.Occurrence, recipient, now)
	if n.Kind == notify.Digested {
		return notify.Links{Picture: d.signer.Picture(page)}
	}
	links := notify.Links{Page: page}
	if d.web.Draws(n.Condition, n.Subject) {
		links.Picture = d.signer.Picture(page)
	}
	links.Answer = d.answer(n, recipient, now, page)
	return links
}

// answer is what the button of a push message sends: to the relay, or else to
// the alert's page.
func (d *Daemon) answer(n notify.Notice, recipient string, now time.Time, page string) *notify.Answer {
	token := d.signer.Confirmation(n.Occurrence, recipient, now)
	relay := d.o.Config.Notify.Relay
	if !relay.Given() {
		if page == "" {
			return nil
		}
		return &notify.Answer{
			URL: page, ContentType: "application/x-www-form-urlencoded", Body: url.Values{web.ButtonKey: {token}}.Encode(),
		}
	}
	address, err := relay.Read()
	if err != nil {
		d.o.Log.Warn("a message goes out without its button", "err", err)
		return nil
	}
	body, _ := json.Marshal(answer{Occurrence: n.Occurrence, Token: token}) // strings always encode
	return &notify.Answer{URL: address, ContentType: "application/json", Body: string(body)}
}

// picture draws what a notice is about. A message goes out without one rather
// than not at all.
func (d *Daemon) picture(ctx context.Context, n notify.Notice) []byte {
	var image []byte
	var err error
	if n.Kind == notify.Digested {
		image, err = d.web.Week(ctx, n.Time)
	} else {
		image, err = d.web.Picture(ctx, n.Condition, n.Subject)
	}
	if err != nil {
		d.o.Log.Warn("a message goes out without its picture", "err", err)
		return nil
	}
	return image
}
