package web_test

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
)

// phone is somebody far from the machine, with a link from a message.
type phone struct {
	t      *testing.T
	s      *web.Server
	signer *web.Signer
	o      *operator
	now    time.Time
	alerts []expose.AlertState
}

func newPhone(t *testing.T) *phone {
	p := &phone{t: t, signer: signer(t, "k"), o: &operator{}, now: noon, alerts: alerts()}
	p.s = newServer(t, func(o *web.Options) {
		o.Operator, o.Signer = p.o, p.signer
		o.Now = func() time.Time { return p.now }
		o.Alerts = func() []expose.AlertState { return p.alerts }
		o.History = past
	})
	return p
}

func past(_ context.Context, s web.Series, from time.Time) ([]web.Point, error) {
	var points []web.Point
	for at := from; at.Before(noon); at = at.Add(time.Hour) {
		v := 0.55 - 0.04*at.Sub(from).Hours()/48
		if s.Kind == "reservoir" {
			v *= 250
		}
		points = append(points, web.Point{Time: at, Value: v, SD: v / 50})
	}
	return points, nil
}

func (p *phone) path() string {
	u, err := url.Parse(p.signer.Link(occurrence, "keeper", noon))
	require.NoError(p.t, err)
	return strings.TrimPrefix(u.Path, "/wickd") // as the proxy before it hands it on
}

// ask is a request as a proxy hands it on from far away.
func (p *phone) ask(method, path string, form url.Values) (*httptest.ResponseRecorder, *html.Node) {
	r := httptest.NewRequest(method, "https://yard.example"+path, strings.NewReader(form.Encode()))
	r.RemoteAddr = "192.0.2.7:5000"
	r.Header.Set("X-Forwarded-For", "198.51.100.3")
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	p.s.Handler().ServeHTTP(w, r)
	doc, err := html.Parse(strings.NewReader(w.Body.String()))
	require.NoError(p.t, err)
	return w, doc
}

// buttons are the page's, by label.
func (p *phone) buttons(doc *html.Node) map[string]url.Values {
	found := map[string]url.Values{}
	for _, b := range elements(doc, "button") {
		found[strings.TrimSpace(visible(b))] = url.Values{attribute(b, "name"): {attribute(b, "value")}}
	}
	return found
}

const seen = "I have seen it and take care of it"

func TestALinkShowsTheAlertAndChangesNothing(t *testing.T) {
	p := newPhone(t)
	for _, method := range []string{http.MethodGet, http.MethodHead} {
		w, doc := p.ask(method, p.path(), nil)
		require.Equal(t, http.StatusOK, w.Code)
		if method == http.MethodHead {
			continue
		}
		for _, want := range []string{
			"Kestrel Yard", "Bag a1 will be dry tomorrow at 10:00", "high", "Look at the wicks of a1.", "Caution: wear gloves.",
			"Its wicks lift less than the plants drink.", "51 ± 1 %", "25 to 62 %", "Sensor moisture last good reading 0 s ago",
			"Water in bag a1", "Limit dry at 25 %. Limit wet at 62 %. Forecast: dry on Wed 10:00", "You answer as keeper.",
		} {
			assert.Contains(t, visible(doc), want)
		}
		assert.Len(t, p.buttons(doc), 4)
		assert.Equal(t, "noindex", w.Header().Get("X-Robots-Tag"))
		assert.Equal(t, "no-referrer", w.Header().Get("Referrer-Policy"))
		assert.Contains(t, w.Header().Get("Content-Security-Policy"), "form-action 'self'")
	}
	assert.Empty(t, p.o.heard())
}

func TestAButtonActs(t *testing.T) {
	for label, want := range map[string]string{
		seen: "acknowledged by keeper", "2 hours": "shelved until 2026-05-12T14:00:00Z",
		"8 hours": "shelved until 2026-05-12T20:00:00Z", "a day": "shelved until 2026-05-13T12:00:00Z",
	} {
		t.Run(label, func(t *testing.T) {
			p := newPhone(t)
			_, doc := p.ask(http.MethodGet, p.path(), nil)
			w, doc := p.ask(http.MethodPost, p.path(), p.buttons(doc)[label])
			require.Equal(t, http.StatusOK, w.Code)
			assert.Equal(t, []string{want}, p.o.heard())
			assert.NotEmpty(t, elements(doc, "p"))
			assert.Empty(t, w.Header().Get("Location"), "it leads nowhere else")
		})
	}
}

// What is put aside can be taken up again before its time; that it was, and by
// whom else, is no mistake of who presses.
func TestAnAlertIsTakenUpAgain(t *testing.T) {
	const up = "Take it up again now"
	p := newPhone(t)
	p.alerts[1].State, p.alerts[1].Until = "shelved", later(8*time.Hour)
	_, doc := p.ask(http.MethodGet, p.path(), nil)
	press := p.buttons(doc)[up]
	require.NotEmpty(t, press)
	assert.NotContains(t, p.buttons(doc), "2 hours")
	w, doc := p.ask(http.MethodPost, p.path(), press)
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, visible(doc), "Taken up again.")
	assert.Equal(t, []string{"taken up"}, p.o.heard())

	p.alerts[1].State, p.alerts[1].Until = "unacknowledged", nil
	_, doc = p.ask(http.MethodPost, p.path(), press)
	assert.Contains(t, visible(doc), "It was taken up already. Nothing was changed.")
	assert.NotContains(t, p.buttons(doc), up)
	assert.Len(t, p.o.heard(), 1)
}

// Pressing twice, or somebody who recorded the request, does no harm.
func TestARepeatedAnswerChangesNothingAndSaysSo(t *testing.T) {
	p := newPhone(t)
	_, doc := p.ask(http.MethodGet, p.path(), nil)
	buttons := p.buttons(doc)
	p.ask(http.MethodPost, p.path(), buttons[seen])
	p.alerts[1].By, p.alerts[1].State = "keeper", "acknowledged"
	w, doc := p.ask(http.MethodPost, p.path(), buttons[seen])
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, visible(doc), "acknowledged already, by keeper. Nothing was changed.")
	assert.NotContains(t, p.buttons(doc), seen)
	assert.Len(t, p.o.heard(), 1)

	p.ask(http.MethodPost, p.path(), buttons["2 hours"])
	p.now = noon.Add(time.Hour)
	p.ask(http.MethodPost, p.path(), buttons["2 hours"])
	heard := p.o.heard()
	require.Len(t, heard, 3)
	assert.Equal(t, heard[1], heard[2], "the same end, not two hours more")
	p.now = noon.Add(2 * time.Hour)
	w, _ = p.ask(http.MethodPost, p.path(), buttons["2 hours"])
	assert.Equal(t, http.StatusForbidden, w.Code)
	assert.Len(t, p.o.heard(), 3)
}

func TestAnAlertThatIsOver(t *testing.T) {
	p := newPhone(t)
	_, doc := p.ask(http.MethodGet, p.path(), nil)
	press := p.buttons(doc)[seen]
	p.alerts, p.o.fail = nil, web.ErrNoAlert
	w, doc := p.ask(http.MethodPost, p.path(), press)
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, visible(doc), "There was nothing to do: the alert is over.")
	assert.Empty(t, p.buttons(doc))
}

func TestLinksThatOpenNothing(t *testing.T) {
	token := func(c web.Claim) string { return "/alert/" + signer(t, "k").Token(c) }
	other := claim(web.Look)
	other.Expires = noon
	tests := map[string]struct {
		path   string
		status int
	}{
		"garbled":               {"/alert/xyz", http.StatusForbidden},
		"of another key":        {"/alert/" + signer(t, "l").Token(claim(web.Look)), http.StatusForbidden},
		"a button's token":      {token(claim(web.Confirm)), http.StatusForbidden},
		"expired":               {token(other), http.StatusGone},
		"longer than any link":  {"/alert/" + strings.Repeat("A", 5000), http.StatusForbidden},
		"no token":              {"/alert/", http.StatusNotFound},
		"a token and more path": {token(claim(web.Look)) + "/more", http.StatusNotFound},
	}
	for name, tt := range tests {
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			t.Run(method+" "+name, func(t *testing.T) {
				p := newPhone(t)
				w, doc := p.ask(method, tt.path, url.Values{"do": {signer(t, "k").Token(claim(web.Confirm))}})
				assert.Equal(t, tt.status, w.Code)
				assert.NotContains(t, visible(doc), "a1", "nothing of the site is shown")
				assert.Empty(t, p.o.heard())
			})
		}
	}
}

// The link alone presses no button, and a button of one alert presses none of
// another's.
func TestButtonsThatDoNotAct(t *testing.T) {
	with := func(change func(c *web.Claim)) string {
		c := claim(web.Confirm)
		change(&c)
		return signer(t, "k").Token(c)
	}
	tests := map[string]string{
		"none":              "",
		"the link's token":  signer(t, "k").Token(claim(web.Look)),
		"of another alert":  with(func(c *web.Claim) { c.Occurrence = "other" }),
		"of another person": with(func(c *web.Claim) { c.Recipient = "class" }),
		"expired":           with(func(c *web.Claim) { c.Expires = noon }),
		"no such action":    with(func(c *web.Claim) { c.Action = "delete" }),
		"tampered":          with(func(*web.Claim) {}) + "A",
	}
	for name, token := range tests {
		t.Run(name, func(t *testing.T) {
			p := newPhone(t)
			w, _ := p.ask(http.MethodPost, p.path(), url.Values{"do": {token}})
			assert.Equal(t, http.StatusForbidden, w.Code)
			assert.Empty(t, p.o.heard())
		})
	}
}

func TestAFailureToActIsSaidWithoutItsDetails(t *testing.T) {
	p := newPhone(t)
	_, doc := p.ask(http.MethodGet, p.path(), nil)
	p.o.fail = errors.New("append to /var/lib/wickd/journal: disk full")
	w, doc := p.ask(http.MethodPost, p.path(), p.buttons(doc)[seen])
	assert.Equal(t, http.StatusInternalServerError, w.Code)
	assert.Contains(t, visible(doc), "It could not be done.")
	assert.NotContains(t, w.Body.String(), "/var/lib")
}

func TestWithoutAKeyThereIsNoSuchPage(t *testing.T) {
	s := newServer(t, func(o *web.Options) { o.Operator = &operator{} })
	assert.Equal(t, http.StatusNotFound, get(t, s, "/alert/"+signer(t, "k").Token(claim(web.Look))).Code)
}

// A page without its past still says everything in words.
func TestAPastThatCannotBeReadCostsOnlyThePicture(t *testing.T) {
	p := newPhone(t)
	p.s = newServer(t, func(o *web.Options) {
		o.Operator, o.Signer = p.o, p.signer
		o.History = func(context.Context, web.Series, time.Time) ([]web.Point, error) {
			return nil, errors.New("no journal")
		}
	})
	w, doc := p.ask(http.MethodGet, p.path(), nil)
	require.Equal(t, http.StatusOK, w.Code)
	assert.Empty(t, elements(doc, "svg"))
	assert.Contains(t, visible(doc), "Look at the wicks of a1.")
}
