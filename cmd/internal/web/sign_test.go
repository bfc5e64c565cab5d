package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/cmd/internal/web"
)

const base = "https://yard.example/wickd"

func signer(t require.TestingT, key string) *web.Signer {
	s, err := web.NewSigner([]byte(strings.Repeat(key, 32)), base+"/")
	require.NoError(t, err)
	return s
}

func claim(action web.Action) web.Claim {
	return web.Claim{Occurrence: occurrence, Action: action, Recipient: "keeper", Expires: noon.Add(time.Hour)}
}

func TestASignerNeedsAKeyAndABase(t *testing.T) {
	_, err := web.NewSigner(make([]byte, 31), base)
	assert.Error(t, err)
	_, err = web.NewSigner(make([]byte, 32), "yard")
	assert.Error(t, err)
}

func TestATokenSaysWhatWasSigned(t *testing.T) {
	s := signer(t, "k")
	rapid.Check(t, func(t *rapid.T) {
		want := web.Claim{
			Occurrence: rapid.String().Draw(t, "occurrence"), Recipient: rapid.String().Draw(t, "recipient"),
			Action:  rapid.SampledFrom([]web.Action{web.Look, web.Confirm, web.PutAside}).Draw(t, "action"),
			Expires: noon.Add(time.Duration(rapid.IntRange(1, 1e6).Draw(t, "expires")) * time.Second),
		}
		token := s.Token(want)
		if len(token) > 1024 {
			t.Skip("longer than a token may be")
		}
		got, err := s.Open(token, noon)
		require.NoError(t, err)
		want.Occurrence, want.Recipient = strings.ToValidUTF8(want.Occurrence, "\uFFFD"), strings.ToValidUTF8(want.Recipient, "\uFFFD")
		require.Equal(t, want, got)
		for _, letter := range token {
			require.NotContains(t, "/?#%& ", string(letter), "a URL carries it as it is")
		}
	})
}

// Whatever letter of a token is changed, left out or added, it opens nothing.
func TestATamperedTokenIsRefused(t *testing.T) {
	s := signer(t, "k")
	token := s.Token(claim(web.Look))
	_, err := s.Open(token, noon)
	require.NoError(t, err)
	for i := range token {
		for _, letter := range "Aa0_-.=" {
			if byte(letter) == token[i] {
				continue
			}
			_, err := s.Open(token[:i]+string(letter)+token[i+1:], noon)
			require.ErrorIs(t, err, web.ErrForged, "%d %c", i, letter)
		}
		_, err := s.Open(token[:i]+token[i+1:], noon)
		require.ErrorIs(t, err, web.ErrForged)
	}
	for _, bad := range []string{"", ".", token + "A", token + ".", token + "." + token, strings.Repeat("A", 1<<20), "e30."} {
		_, err := s.Open(bad, noon)
		require.ErrorIs(t, err, web.ErrForged)
	}
}

func TestATokenOfAnotherKeyIsRefused(t *testing.T) {
	_, err := signer(t, "k").Open(signer(t, "l").Token(claim(web.Look)), noon)
	assert.ErrorIs(t, err, web.ErrForged)
}

func TestATokenExpires(t *testing.T) {
	s := signer(t, "k")
	token := s.Token(claim(web.Look))
	_, err := s.Open(token, noon.Add(time.Hour-time.Second))
	assert.NoError(t, err)
	got, err := s.Open(token, noon.Add(time.Hour))
	assert.ErrorIs(t, err, web.ErrExpired)
	assert.Empty(t, got, "an expired token says nothing")
}

func TestALinkIsShortAndLivesAWeek(t *testing.T) {
	s := signer(t, "k")
	link := s.Link("sensor-implausible|reservoir/tank/temperature|2026-06-02T12:01:00Z", "keeper", noon)
	token, ok := strings.CutPrefix(link, base+"/alert/")
	require.True(t, ok, link)
	assert.Less(t, len(token), 240, "it has to fit a text message of two parts")
	got, err := s.Open(token, noon.Add(web.LinkFor-time.Second))
	require.NoError(t, err)
	assert.Equal(t, web.Look, got.Action)
	_, err = s.Open(token, noon.Add(web.LinkFor))
	assert.ErrorIs(t, err, web.ErrExpired)
}

// No bytes from outside make it panic, and none but its own open.
func FuzzOpen(f *testing.F) {
	s := signer(f, "k")
	f.Add(s.Token(claim(web.Look)))
	f.Add("e30.AAAAAAAAAAAAAAAAAAAAAA")
	f.Add(".")
	f.Add(s.Token(claim(web.Look)) + "\n") // base64 passes over line ends
	f.Fuzz(func(t *testing.T, token string) {
		c, err := s.Open(token, noon)
		if err != nil {
			assert.Empty(t, c)
			return
		}
		assert.Equal(t, token, s.Token(c), "what opens is what was signed")
	})
}
