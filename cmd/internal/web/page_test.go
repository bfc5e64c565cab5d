package web_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/model"
)

var spaces = regexp.MustCompile(`\s+`)

// visible is the text of a page as a reader sees or hears it.
func visible(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data + " ")
		}
	}
	return spaces.ReplaceAllString(b.String(), " ")
}

func parsed(t *testing.T, s *web.Server) *html.Node {
	t.Helper()
	w := get(t, s, "/")
	require.Equal(t, http.StatusOK, w.Code)
	doc, err := html.Parse(w.Body)
	require.NoError(t, err)
	return doc
}

func elements(n *html.Node, name string) []*html.Node {
	var found []*html.Node
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && d.Data == name {
			found = append(found, d)
		}
	}
	return found
}

func attribute(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

// Times are in the site's zone: noon UTC is 14:00 there.
func TestThePageSaysWhatAGrowerNeeds(t *testing.T) {
	page := visible(parsed(t, newServer(t, nil)))
	for _, want := range []string{
		"Kestrel Yard", "2 alerts open", "As of 14:00",
		"Bag a1 will be dry tomorrow at 10:00", "high", "unacknowledged", "since 13:00, due Wed 10:00",
		"Look at the wicks of a1.", "Caution: wear gloves.",
		"Set aside The EC of tank is too high shelved", "back at Wed 14:00",
		"121 L", "14.2 L/day", "Fri 14:00 (Thu 14:00 to Sat 14:00)", "1.42 mS/cm", "5.8", "18.5 ± 0.2 °C",
		"a1 51 % enough 93 % 1.4 Wed 10:00",
		"a2 31 %, 3 h old enough – – –",
		"tank: 3 days left", "Channel a fed from tank; carries solution",
		"bag/a1/moisture 0 s ago bag/a2/moisture 3 h ago",
		"bag/a2/moisture silent since 11:00", "Broker connected",
	} {
		assert.Contains(t, page, want)
	}
	assert.Less(t, strings.Index(page, "Bag a1 will be dry"), strings.Index(page, "probe of a2 is silent"), "the most urgent first")
}

// Salt and warmth at the roots stand on the page with how sure they are, the
// limit and how long there is; a site that knows neither has no such table.
func TestThePageShowsTheRoots(t *testing.T) {
	unknown := func(o *web.Options) {
		o.Snapshot = func() model.Snapshot {
			return model.Snapshot{Time: noon, Bags: []model.BagEstimate{{Bag: "a1", Channel: "a"}}}
		}
	}
	assert.NotContains(t, visible(parsed(t, newServer(t, unknown))), "At the roots")
	stale := fresh(1.9, 0.8)
	stale.Quality = model.Stale
	uptake := model.Measured{Quality: model.Unknown}
	s := newServer(t, func(o *web.Options) {
		o.Snapshot = func() model.Snapshot {
			s := snapshot()
			s.Bags[1].Salt, s.Bags[1].UptakePerDay = model.Salt{EC: stale, Limit: 3}, uptake
			return s
		}
		o.Site.Reservoirs[0].MaxTemp = 25
		o.Site.Reservoirs[0].Water = &model.Water{EC: 0.4, Alkalinity: 3}
	})
	page := visible(parsed(t, s))
	assert.Contains(t, page, "At the roots")
	assert.Contains(t, page, "a1 2.5 ± 0.3 3.0, in 12 days 24.3 ± 0.2")
	assert.Contains(t, page, "a2 1.9 ± 0.8, not measured now 3.0 –", "a day's course is not known yet")
	uptake = stale
	assert.Contains(t, visible(parsed(t, s)), "a2 1.9 ± 0.8, not measured now 3.0, not within a year –")
	assert.Contains(t, page, "Solution 18.5 ± 0.2 °C (limit 25)")
	var doc web.Document
	require.NoError(t, json.Unmarshal(get(t, s, "/api/v1/snapshot").Body.Bytes(), &doc))
	assert.InDelta(t, 2.46, *doc.Bags[0].Salt.Value, 1e-12)
	assert.InDelta(t, 0.31, *doc.Bags[0].Salt.SD, 1e-12)
	assert.InDelta(t, 3, *doc.Bags[0].SaltLimit, 1e-12)
	assert.Equal(t, *later(12 * 24 * time.Hour), *doc.Bags[0].SaltLimitAt)
	assert.Nil(t, doc.Bags[1].SaltLimitAt)
	require.NotNil(t, doc.Reservoirs[0].Water)
	assert.Equal(t, web.WaterDoc{EC: 0.4, Alkalinity: 3}, *doc.Reservoirs[0].Water)
}

func TestAQuietSiteSaysSo(t *testing.T) {
	quiet := func(o *web.Options) { o.Alerts = nil }
	assert.Contains(t, visible(parsed(t, newServer(t, quiet))), "Nothing needs doing")
}

// Silence because nothing is known must not read as "all well".
func TestASiteWithoutEstimatesDoesNotSayThatAllIsWell(t *testing.T) {
	page := visible(parsed(t, newServer(t, func(o *web.Options) {
		o.Alerts, o.Snapshot = nil, func() model.Snapshot { return model.Snapshot{} }
		o.Ready = func() error { return fmt.Errorf("the broker is not connected") }
	})))
	assert.NotContains(t, page, "Nothing needs doing")
	assert.Contains(t, page, "Nothing is known of the bags yet")
	assert.Contains(t, page, "Not ready: the broker is not connected")
}

func TestWhatOthersWroteStaysText(t *testing.T) {
	s := newServer(t, func(o *web.Options) {
		o.Alerts = func() []expose.AlertState {
			return []expose.AlertState{{Condition: "x", State: "unacknowledged", Message: model.Message{Headline: `<script>alert(1)</script>`}}}
		}
	})
	doc := parsed(t, s)
	assert.Empty(t, elements(doc, "script"))
	assert.Contains(t, visible(doc), "<script>alert(1)</script>")
}

// The policy forbids what the page must not have, and the page has none of it:
// no script, no inline style, nothing from elsewhere.
func TestThePageKeepsItsOwnPolicy(t *testing.T) {
	s := newServer(t, nil)
	policy := get(t, s, "/").Header().Get("Content-Security-Policy")
	assert.Contains(t, policy, "default-src 'none'")
	assert.NotContains(t, policy, "unsafe")
	assert.NotContains(t, policy, "script-src")
	for n := range parsed(t, s).Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		assert.NotContains(t, []string{"script", "style", "iframe", "form", "img"}, n.Data)
		for _, a := range n.Attr {
			assert.NotEqual(t, "style", a.Key)
			assert.False(t, strings.HasPrefix(a.Key, "on"), a.Key)
			if a.Key == "href" || a.Key == "src" {
				assert.Contains(t, []string{"", "style.css"}, a.Val, "relative, so that the page works behind a proxy")
			}
		}
	}
	css := get(t, s, "/style.css")
	assert.Equal(t, "text/css; charset=utf-8", css.Header().Get("Content-Type"))
	assert.NotContains(t, css.Body.String(), "url(")
	assert.NotContains(t, css.Body.String(), "@import")
}

// WCAG 2.2: 3.1.1 language, 2.4.2 title, 1.3.1 headings, captions and header
// cells, 1.1.1 pictures with their text beside them.
func TestThePageIsAccessible(t *testing.T) {
	doc := parsed(t, newServer(t, nil))
	require.Len(t, elements(doc, "html"), 1)
	assert.Equal(t, "en", attribute(elements(doc, "html")[0], "lang"))
	assert.Contains(t, visible(elements(doc, "title")[0]), "Kestrel Yard")
	assert.Len(t, elements(doc, "h1"), 1)
	assert.Len(t, elements(doc, "main"), 1)
	for _, table := range elements(doc, "table") {
		assert.Len(t, elements(table, "caption"), 1)
		for _, th := range elements(table, "th") {
			assert.NotEmpty(t, attribute(th, "scope"))
		}
	}
	for _, svg := range elements(doc, "svg") {
		assert.Equal(t, "true", attribute(svg, "aria-hidden"))
	}
	level := 0
	for n := range doc.Descendants() {
		if n.Type == html.ElementNode && len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6' {
			next := int(n.Data[1] - '0')
			assert.LessOrEqual(t, next, level+1, "no heading level is left out before %q", visible(n))
			level = next
		}
	}
}

var colour = regexp.MustCompile(`--([a-z]+): #([0-9a-f]{6});`)

// WCAG 2.2, 1.4.3: text needs a contrast of 4.5 to 1 with what it stands on, in
// the light and in the dark dress; 1.4.11: parts of a picture 3 to 1.
func TestTextHasContrast(t *testing.T) {
	css, err := os.ReadFile("style.css")
	require.NoError(t, err)
	light, dark, ok := strings.Cut(string(css), "@media (prefers-color-scheme: dark)")
	require.True(t, ok)
	for dress, text := range map[string]string{"light": light, "dark": dark} {
		c := map[string]float64{}
		for _, m := range colour.FindAllStringSubmatch(text, -1) {
			c[m[1]] = luminance(t, m[2])
		}
		require.Len(t, c, 14, dress)
		for _, ink := range []string{"ink", "soft", "link", "urgent", "high", "medium", "low"} {
			for _, ground := range []string{"paper", "sheet"} {
				assert.GreaterOrEqual(t, contrast(c[ink], c[ground]), 4.5, "%s: %s on %s", dress, ink, ground)
			}
		}
		for _, ground := range []string{"trough", "zone", "sheet"} {
			assert.GreaterOrEqual(t, contrast(c["water"], c[ground]), 3.0, "%s: mark on %s", dress, ground)
		}
		assert.GreaterOrEqual(t, contrast(c["amber"], c["sheet"]), 4.5, "%s: limit", dress)
		assert.GreaterOrEqual(t, contrast(c["sheet"], c["link"]), 4.5, "%s: button", dress)
	}
}

// luminance is WCAG 2.2's relative luminance of an sRGB colour.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	var l float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		require.NoError(t, err)
		s := float64(v) / 255
		if s <= 0.04045 {
			s /= 12.92
		} else {
			s = math.Pow((s+0.055)/1.055, 2.4)
		}
		l += weight * s
	}
	return l
}

func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

func TestAFarTimeIsADate(t *testing.T) {
	page := visible(parsed(t, newServer(t, func(o *web.Options) {
		o.Snapshot = func() model.Snapshot {
			s := snapshot()
			s.Bags[0].DryAt = later(20 * 24 * time.Hour)
			s.Reservoirs[0].EmptyAt.P95 = nil
			return s
		}
	})))
	assert.Contains(t, page, "1 Jun 2026")
	assert.Contains(t, page, "Fri 14:00 (not before Thu 14:00)")
}

// What is wrong with wickd itself, and whom its messages do not reach, stands at
// the head of the page, and how old is what it shows.
func TestThePageSaysWhatIsWrongWithWickd(t *testing.T) {
	page := html.UnescapeString(get(t, troubled(t), "/").Body.String())
	for _, want := range []string{
		"Not ready: the broker is lost", "As of 14:00, 25 min ago.",
		"Messages do not reach keeper since 13:00: 3 messages waiting; no connection to the service",
		"broker refused yard/b2/moisture", "0.4 GB free, full in about 5 days",
	} {
		assert.Contains(t, page, want)
	}
	fine := get(t, newServer(t, nil), "/").Body.String()
	assert.NotContains(t, fine, "do not reach")
	assert.Contains(t, fine, "As of 14:00. ")
}
