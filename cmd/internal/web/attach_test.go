package web_test

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/web"
	"wickd/model"
)

// dashes are in the tone of a forecast, burnt clay.
var dashes = color.NRGBA{R: 0x9c, G: 0x4f, B: 0x00, A: 0xff}

// drawn decodes a picture with a decoder that knows nothing of how it was made.
func drawn(t *testing.T, content []byte) image.Image {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(content))
	require.NoError(t, err)
	if dir := os.Getenv("WICKD_LOOK"); dir != "" { // to look at what the tests draw
		require.NoError(t, os.WriteFile(dir+"/"+strings.ReplaceAll(t.Name(), "/", "-")+".png", content, 0o600))
	}
	return img
}

// columns are the first and the last column with pixels of a tone; -1: none.
func columns(img image.Image, tone color.NRGBA) (first, last int) {
	first, last = -1, -1
	for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
		for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
			if color.NRGBAModel.Convert(img.At(x, y)) == tone {
				if first < 0 {
					first = x
				}
				last = x
				break
			}
		}
	}
	return first, last
}

func TestPictureForAMessage(t *testing.T) {
	tests := map[string]struct {
		condition model.Condition
		subject   model.Subject
		panels    int
		forecast  bool
	}{
		"a bag":                     {"bag-drying", "bag/a1", 1, true},
		"its probe":                 {"sensor-stuck", "bag/a1/moisture", 1, true},
		"a channel, all its bags":   {"channel-dry", "channel/a", 2, true},
		"a reservoir that runs out": {"reservoir-runout", "reservoir/tank", 1, true},
		"its strength":              {"ec-off-target", "reservoir/tank", 1, false},
		"the salt in a bag":         {"salt-building", "bag/a1", 1, false},
		"the warmth of its roots":   {"roots-hot", "bag/a1", 1, false},
		"the broker":                {"broker-lost", "wickd/broker", 0, false},
		"all sensors":               {"sensors-lost", "wickd/sensors", 0, false},
		"the air":                   {"sensor-silent", "air/temperature", 0, false},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			s := newPhone(t).s
			content, err := s.Picture(t.Context(), c.condition, c.subject)
			require.NoError(t, err)
			assert.Equal(t, c.panels > 0, s.Draws(c.condition, c.subject), "or a message would carry the address of nothing")
			if c.panels == 0 {
				assert.Nil(t, content)
				return
			}
			img := drawn(t, content)
			width, height := img.Bounds().Dx(), img.Bounds().Dy()
			// A panel is 5.4 cm high on a picture of 9 cm, under a head of 1.85 cm.
			assert.InDelta(t, 1.85+5.4*float64(c.panels), 9*float64(height)/float64(width), 0.05)
			assert.Less(t, len(content), 200<<10, "it travels by mail and over a phone's contract")
			// The past is two days; the forecast begins where it ends.
			first, last := columns(img, dashes)
			if !c.forecast {
				assert.Equal(t, -1, last)
				return
			}
			assert.Greater(t, first, width/3)
			assert.Less(t, last, width)
		})
	}
}

// What is drawn is the figure that the alert is about.
func TestAPictureOfTheRightFigure(t *testing.T) {
	for about, want := range map[[2]string]string{
		{"bag-dry", "bag/a1"}:                                "water_content",
		{"salt-building", "bag/a1"}:                          "salt_ec",
		{"roots-hot", "bag/a1"}:                              "root_temperature",
		{"sensor-silent", "bag/a1/temperature"}:              "root_temperature",
		{"leak", "reservoir/tank"}:                           "volume_l",
		{"solution-warm", "reservoir/tank"}:                  "temperature",
		{"sensor-implausible", "reservoir/tank/ph"}:          "ph",
		{"ec-drift", "reservoir/tank"}:                       "ec",
		{"sensor-implausible", "reservoir/tank/temperature"}: "temperature",
	} {
		var asked []string
		s := newServer(t, func(o *web.Options) {
			o.History = func(_ context.Context, s web.Series, _ time.Time) ([]web.Point, error) {
				asked = append(asked, s.Value)
				return nil, nil
			}
		})
		_, err := s.Picture(t.Context(), model.Condition(about[0]), model.Subject(about[1]))
		require.NoError(t, err)
		assert.Equal(t, []string{want}, asked, "%s", about)
	}
}

func TestPictureOfTheWeek(t *testing.T) {
	content, err := newPhone(t).s.Week(t.Context(), noon)
	require.NoError(t, err)
	img := drawn(t, content)
	assert.Greater(t, img.Bounds().Dy(), 2*img.Bounds().Dx(), "a panel each for what is left, EC, pH and the channel")
}

func TestNoPictureWithoutAPast(t *testing.T) {
	s := newServer(t, nil)
	for _, draw := range []func() ([]byte, error){
		func() ([]byte, error) { return s.Picture(t.Context(), "bag-drying", "bag/a1") },
		func() ([]byte, error) { return s.Week(t.Context(), noon) },
	} {
		content, err := draw()
		require.NoError(t, err)
		assert.Nil(t, content)
	}
	lost := errors.New("the disk is gone")
	s = newServer(t, func(o *web.Options) {
		o.History = func(context.Context, web.Series, time.Time) ([]web.Point, error) { return nil, lost }
	})
	_, err := s.Picture(t.Context(), "bag-drying", "bag/a1")
	require.ErrorIs(t, err, lost)
	_, err = s.Week(t.Context(), noon)
	require.ErrorIs(t, err, lost)
}

// The picture is as secret as its page.
func TestPictureBehindALink(t *testing.T) {
	p := newPhone(t)
	look := func(occurrence string) string {
		link := p.signer.Picture(p.signer.Link(occurrence, "keeper", noon))
		return link[strings.Index(link, "/alert/"):]
	}
	tests := map[string]struct {
		path   string
		now    time.Time
		status int
	}{
		"good":            {look("bag-drying|bag/a1|2026-05-12T10:00:00Z"), noon, http.StatusOK},
		"of a digest":     {look("digest|2026-05-10T16:00:00Z"), noon, http.StatusOK},
		"nothing to draw": {look("broker-lost|wickd/broker|2026-05-12T10:00:00Z"), noon, http.StatusNotFound},
		"too old":         {look("bag-drying|bag/a1|2026-05-12T10:00:00Z"), noon.Add(8 * 24 * time.Hour), http.StatusGone},
		"forged":          {"/alert/x/picture.png", noon, http.StatusForbidden},
		"of a button": {"/alert/" + p.signer.Token(web.Claim{Occurrence: occurrence, Action: web.Confirm, Recipient: "keeper",
			Expires: noon.Add(time.Hour)}) + "/picture.png", noon, http.StatusForbidden},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			p.now = c.now
			w, _ := p.ask(http.MethodGet, c.path, nil)
			assert.Equal(t, c.status, w.Code)
			if c.status == http.StatusOK {
				assert.Equal(t, "image/png", w.Header().Get("Content-Type"))
				drawn(t, w.Body.Bytes())
			}
		})
	}
}

// A picture is drawn while a mail waits, on a board a tenth as fast.
func BenchmarkPicture(b *testing.B) {
	o := options()
	o.History = past
	s, err := web.New(o)
	require.NoError(b, err)
	for b.Loop() {
		_, err := s.Picture(b.Context(), "bag-drying", "bag/a1")
		require.NoError(b, err)
	}
}
