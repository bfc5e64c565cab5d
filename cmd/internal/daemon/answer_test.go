package daemon_test

import (
	"html"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/cmd/internal/web"
)

var (
	linked = regexp.MustCompile(`https://yard\.example(/alert/\S+)`)
	button = regexp.MustCompile(`<button class="main" name="do" value="([^"]+)">`)
)

// open finds the link of a message whose page is about something.
func open(t *testing.T, addr, message, about string) (path, page string) {
	t.Helper()
	for _, link := range linked.FindAllStringSubmatch(message, -1) {
		status, page := fetch(t, addr, link[1])
		require.Equal(t, http.StatusOK, status)
		if strings.Contains(page, "<h1 class=\"sum\">"+about) {
			return link[1], page
		}
	}
	require.FailNow(t, "no such link", "%q in %q", about, message)
	return "", ""
}

// press opens that page and presses its first button.
func press(t *testing.T, addr, message, about string) (answer string) {
	t.Helper()
	link, page := open(t, addr, message, about)
	value := button.FindStringSubmatch(page)
	require.Len(t, value, 2, "no button in %s", page)
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	r, err := client.PostForm("http://"+addr+link, url.Values{"do": {html.UnescapeString(value[1])}})
	require.NoError(t, err)
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, r.StatusCode)
	return string(body)
}

// An alert that nobody answers goes on to the next person; one that somebody
// answers from the phone does not, and neither does the news that it is over.
func TestAnAnswerFromThePhoneStopsTheEscalation(t *testing.T) {
	t.Parallel()
	keeper, deputy := newPhone(t), newPhone(t)
	address := func(p *phone) string { return secret(t, "generic+"+p.server.URL+"/alerts?template=json") }
	c := bench(t, embedded, `notify:
  page_url: https://yard.example/
  recipients:
    keeper: {url_file: `+address(keeper)+`}
    deputy: {url_file: `+address(deputy)+`, escalate_after: 20 min}
alerts: {reminders: {urgent: 7 d, high: 7 d}, conditions: {sensor-silent: {enabled: false}, wick-failing: {enabled: false}}}
`)
	clock, data := &wall{now: start.Add(12 * time.Hour)}, t.TempDir()
	d := run(t, daemon.Options{Config: c, Data: data, Clock: clock.read, WatchEvery: 5 * time.Millisecond})
	s := connect(t, d.BrokerAddr())
	on := func(bag, value string, step time.Duration, until func() bool, what string) {
		t.Helper()
		d.eventually(func() bool {
			clock.move(step)
			s.publish("bench/"+bag+"/moisture", value)
			return until()
		}, "%s", what)
	}
	told := func(p *phone, text string) func() bool { return func() bool { return len(p.about(text)) > 0 } }

	on("p1", "9.5", 20*time.Second, told(deputy, "Bag p1 is dry"), "the deputy is not told")
	assert.Contains(t, deputy.about("Bag p1 is dry")[0].Title, "Unanswered for 20 min")
	d.eventually(told(keeper, "Bag p1 is dry"), "the keeper is not told")

	on("p2", "9.5", time.Second, told(keeper, "Bag p2 is dry"), "the keeper is not told")
	answer := press(t, d.Addr(), keeper.about("Bag p2 is dry")[0].Message, "Bag p2 is dry")
	assert.Contains(t, answer, "Acknowledged. You will not be reminded")
	doc, err := web.Client{Base: "http://" + d.Addr()}.Snapshot(t.Context())
	require.NoError(t, err)
	by := map[string]string{}
	for _, a := range doc.Alerts {
		if a.Condition == "bag-dry" {
			by[string(a.Subject)] = a.By
		}
	}
	assert.Equal(t, "keeper", by["bag/p2"])
	assert.Empty(t, by["bag/p1"])

	on("p2", "45", 20*time.Second, told(keeper, "Bag p2 has water again"), "the keeper is not told that it is over")
	assert.Empty(t, deputy.about("Bag p2 is dry"))
	assert.Empty(t, deputy.about("Bag p2 has water again"), "never told of it, nor that it is over")

	info, err := os.Stat(filepath.Join(data, "page.key"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	token := linked.FindStringSubmatch(keeper.about("Bag p2 is dry")[0].Message)[1]
	assert.NotContains(t, d.log.String(), strings.TrimPrefix(token, "/alert/"), "a link is a secret")
}
