package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"html"
	"image"
	"image/png"
	"math"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/model"
)

var update = flag.Bool("update", false, "write golden files")

// wanted is what a variable names. Without it a test is skipped, because a
// browser is large and slow to start, but not where CI is true.
func wanted(t *testing.T, variable, hint string) string {
	t.Helper()
	named := os.Getenv(variable)
	switch {
	case named != "":
	case os.Getenv("CI") == "true":
		t.Fatal(variable + " is not set, and CI must look at the pages: " + hint)
	default:
		t.Skip(variable + " is not set: " + hint)
	}
	return named
}

// chromium runs a real browser.
func chromium(t *testing.T, args ...string) []byte {
	t.Helper()
	program := wanted(t, "WICKD_CHROMIUM", "the path of a browser, for example /usr/bin/chromium")
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	args = append([]string{
		"--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars", "--no-first-run",
		"--force-device-scale-factor=1", "--disable-background-networking", "--user-data-dir=" + t.TempDir(),
	}, args...)
	out, err := exec.CommandContext(ctx, program, args...).Output()
	require.NoError(t, err)
	return out
}

// screens are the pages that people see.
func screens(t *testing.T) map[string]string {
	p := newPhone(t)
	_, doc := p.ask("GET", p.path(), nil)
	require.NotEmpty(t, p.buttons(doc))
	server := httptest.NewServer(p.s.Handler())
	t.Cleanup(server.Close)
	aside := httptest.NewServer(putAside(t).s.Handler())
	t.Cleanup(aside.Close)
	trouble := httptest.NewServer(troubled(t).Handler())
	t.Cleanup(trouble.Close)
	return map[string]string{
		"trouble": trouble.URL + "/", "site": server.URL + "/", "alert": server.URL + p.path(), "refusal": server.URL + "/alert/x", "aside": aside.URL + p.path(),
	}
}

// putAside is a phone whose alert has been put aside.
func putAside(t *testing.T) *phone {
	p := newPhone(t)
	p.alerts[1].State, p.alerts[1].Until, p.alerts[1].By = "shelved", later(8*time.Hour), "keeper"
	return p
}

// troubled is a site whose wickd has trouble of its own, a while ago.
func troubled(t *testing.T) *web.Server {
	return newServer(t, func(o *web.Options) {
		o.Now = func() time.Time { return noon.Add(25 * time.Minute) }
		o.Ready = func() error { return errors.New("the broker is lost since Tue 12 May 14:01 CEST") }
		o.Undelivered = func() []expose.Undelivered {
			return []expose.Undelivered{{
				Recipient: "keeper", Since: noon.Add(-time.Hour), Waiting: 3, Reason: "refused",
				Why: "no connection to the service; check host, port, certificate and network",
			}}
		}
		o.Notes = func() []string {
			return []string{"Not all is heard: broker refused yard/b2/moisture (does its access list let this user read them?)"}
		}
		o.Snapshot = func() model.Snapshot {
			s := snapshot()
			s.Daemon = model.DaemonHealth{BrokerLostSince: noon, DiskKnown: true, DiskFree: 420e6, DiskLoss: 80e6}
			return s
		}
	})
}

var sizes = map[string]string{"phone": "360,1500", "desk": "1280,1100"}

// The pages look as they did when somebody last looked at them: testdata/screens
// holds that, -update writes it anew. Letters may differ a little.
func TestPagesLookAsTheyDid(t *testing.T) {
	if testing.Short() {
		t.Skip("it starts a browser ten times")
	}
	for page, address := range screens(t) {
		for size, window := range sizes {
			t.Run(page+" "+size, func(t *testing.T) {
				shot := filepath.Join(t.TempDir(), "shot.png")
				chromium(t, "--window-size="+window, "--screenshot="+shot, address)
				golden := filepath.Join("testdata", "screens", page+"-"+size+".png")
				if *update {
					content, err := os.ReadFile(shot)
					require.NoError(t, err)
					require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
					require.NoError(t, os.WriteFile(golden, content, 0o644))
				}
				assert.Less(t, apart(t, picture(t, golden), picture(t, shot)), 0.02, "look at the page; if it is meant, run with -update")
			})
		}
	}
}

func picture(t *testing.T, file string) image.Image {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	img, err := png.Decode(f)
	require.NoError(t, err)
	return img
}

// apart is the mean difference of two pictures, 0–1, over tiles of 16 pixels:
// coarse enough that another rendering of a letter is no difference.
func apart(t *testing.T, a, b image.Image) float64 {
	t.Helper()
	require.Equal(t, a.Bounds(), b.Bounds())
	const tile = 16
	sum, n := 0.0, 0
	for y := a.Bounds().Min.Y; y+tile <= a.Bounds().Max.Y; y += tile {
		for x := a.Bounds().Min.X; x+tile <= a.Bounds().Max.X; x += tile {
			sum += math.Abs(light(a, x, y, tile) - light(b, x, y, tile))
			n++
		}
	}
	return sum / float64(n)
}

func light(img image.Image, x, y, tile int) float64 {
	sum := 0.0
	for dy := range tile {
		for dx := range tile {
			r, g, b, _ := img.At(x+dx, y+dy).RGBA()
			sum += float64(r+g+b) / 3 / 0xffff
		}
	}
	return sum / float64(tile*tile)
}

// probed is a page as a file of its own, with its style and a script in it; the
// pages themselves forbid scripts.
func probed(t *testing.T, content, script string) string {
	t.Helper()
	css, err := os.ReadFile("style.css")
	require.NoError(t, err)
	content = regexp.MustCompile(`<link rel="stylesheet"[^>]*>`).ReplaceAllString(content, "<style>"+strings.ReplaceAll(string(css), "$", "$$")+"</style>")
	content = strings.Replace(content, "</body>", "<script>"+script+"</script></body>", 1)
	file := filepath.Join(t.TempDir(), "page.html")
	require.NoError(t, os.WriteFile(file, []byte(content), 0o600))
	return (&url.URL{Scheme: "file", Path: file}).String()
}

var result = regexp.MustCompile(`(?s)<pre id="result">(.*?)</pre>`)

// ask runs a script in a page and gives what it put into the result.
func ask(t *testing.T, content, script, window string, into any) {
	t.Helper()
	out := chromium(t, "--window-size="+window, "--virtual-time-budget=20000", "--dump-dom", probed(t, content, script))
	found := result.FindSubmatch(out)
	require.NotNil(t, found, "the script gave no result")
	require.NoError(t, json.Unmarshal([]byte(html.UnescapeString(string(found[1]))), into))
}

const report = `function report(x) { const p = document.createElement("pre"); p.id = "result"; p.textContent = JSON.stringify(x); document.body.append(p); }`

func pages(t *testing.T) map[string]string {
	p := newPhone(t)
	all := map[string]string{"site": get(t, p.s, "/").Body.String(), "trouble": get(t, troubled(t), "/").Body.String()}
	for name, path := range map[string]string{"alert": p.path(), "refusal": "/alert/x"} {
		w, _ := p.ask("GET", path, nil)
		all[name] = w.Body.String()
	}
	aside := putAside(t)
	w, _ := aside.ask("GET", aside.path(), nil)
	all["aside"] = w.Body.String()
	return all
}

// On a phone of 360 pixels nothing lies beyond the edge, and every button is
// large enough for a thumb (WCAG 2.2, 1.4.10 and 2.5.8).
func TestPagesFitAPhone(t *testing.T) {
	for name, content := range pages(t) {
		t.Run(name, func(t *testing.T) {
			var got struct {
				Wide    []string
				Buttons []float64
			}
			// A browser's window is never narrower than some 500 pixels.
			ask(t, content, report+`
				document.documentElement.style.width = "360px";
				const wide = [...document.querySelectorAll("main *, header *")].filter(e => e.getBoundingClientRect().right > 361).map(e => e.outerHTML.slice(0, 80));
				report({Wide: wide, Buttons: [...document.querySelectorAll("button")].map(b => b.getBoundingClientRect().height)});
			`, "360,1900", &got)
			assert.Empty(t, got.Wide)
			for _, height := range got.Buttons {
				assert.GreaterOrEqual(t, height, 44.0)
			}
		})
	}
}

// axe-core, which WICKD_AXE names (axe.min.js of the npm package axe-core),
// finds nothing serious, in the light and at both sizes.
func TestPagesPassAxe(t *testing.T) {
	file := wanted(t, "WICKD_AXE", "the path of axe.min.js (npm pack axe-core)")
	axe, err := os.ReadFile(file)
	require.NoError(t, err)
	script := strings.ReplaceAll(string(axe), "</script", `<\/script`) + report + `
		document.querySelectorAll("details").forEach(d => d.open = true);
		axe.run().then(r => report({Rules: r.passes.length, Violations: r.violations.map(v => v.impact + ": " + v.id + ": " + v.nodes.map(n => n.html).join(" | "))}));`
	for name, content := range pages(t) {
		for size, window := range sizes {
			t.Run(fmt.Sprint(name, " ", size), func(t *testing.T) {
				var got struct {
					Rules      int
					Violations []string
				}
				ask(t, content, script, window, &got)
				assert.Greater(t, got.Rules, 10, "axe ran")
				assert.Empty(t, got.Violations)
			})
		}
	}
}
