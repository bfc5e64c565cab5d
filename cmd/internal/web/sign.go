package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"
)

// Action is what a signed token allows its holder.
type Action string

// The actions. To look is what the link in a message allows; the others are in
// the buttons of the page that it opens, and the first of them in the button of
// a push message.
const (
	Look     Action = "look"
	Confirm  Action = "acknowledge"
	PutAside Action = "shelve"
	TakeUp   Action = "unshelve"
)

const (
	// LinkFor is how long the link in a message opens its page: a week, as long
	// as an alert can be shelved. An alert that stands longer is told again.
	LinkFor = 7 * 24 * time.Hour
	// buttonFor is how long a page that was opened can be acted on.
	buttonFor = 2 * time.Hour

	// minKey is the length of the key in bytes: that of the hash (RFC 2104 §3).
	minKey = sha256.Size
	// sealBytes of the code are kept: half of it, the least that RFC 2104 §5
	// allows, so that a link is not longer than it must be.
	sealBytes = sha256.Size / 2
	maxToken  = 1 << 10
	// purpose keeps a code made for links from being taken for anything else.
	purpose = "wickd page link 1\n"
)

// Errors of a token.
var (
	ErrForged  = errors.New("the link was changed, or is not from this wickd")
	ErrExpired = errors.New("the link is too old")
)

// Claim is what a token says and the key vouches for.
type Claim struct {
	Occurrence string
	Action     Action
	Recipient  string    // who was sent the link
	Expires    time.Time // to the second
	Until      time.Time // end of the shelving; zero unless Action is PutAside
}

// wire is a Claim in a token; times are Unix seconds.
type wire struct {
	Occurrence string `json:"o"`
	Action     Action `json:"a"`
	Recipient  string `json:"r"`
	Expires    int64  `json:"e"`
	Until      int64  `json:"u,omitempty"`
}

// Signer makes tokens and checks them: HMAC-SHA-256 over occurrence, action,
// recipient and expiry. It holds no state and is safe for concurrent use. That
// a token can be used again is harmless: acknowledging twice changes nothing,
// and a button to shelve names the end of the shelving and not its length.
type Signer struct {
	key  []byte
	base string
}

// NewSigner takes the secret key, of at least 32 bytes, and the base URL that
// the page has outside; empty: it cannot be reached, and there are no links.
func NewSigner(key []byte, base string) (*Signer, error) {
	if len(key) < minKey {
		return nil, fmt.Errorf("web: a key of %d bytes or more is needed to sign links, not %d", minKey, len(key))
	}
	if u, err := url.Parse(base); base != "" && (err != nil || u.Host == "") {
		return nil, errors.New("web: the page's base URL cannot be used, for example https://yard.example")
	}
	return &Signer{key: append([]byte(nil), key...), base: strings.TrimRight(base, "/")}, nil
}

// Link is the address under which a recipient can answer an occurrence; empty:
// there is none.
func (s *Signer) Link(occurrence, recipient string, now time.Time) string {
	if s.base == "" {
		return ""
	}
	return s.base + "/alert/" + s.Token(Claim{
		Occurrence: occurrence, Action: Look, Recipient: recipient, Expires: now.Add(LinkFor),
	})
}

// Picture is the address of the picture behind a link.
func (s *Signer) Picture(link string) string {
	if link == "" {
		return ""
	}
	return link + "/picture.png"
}

// Confirmation is the token that acknowledges an occurrence in a recipient's
// name for as long as a link opens.
func (s *Signer) Confirmation(occurrence, recipient string, now time.Time) string {
	return s.Token(Claim{Occurrence: occurrence, Action: Confirm, Recipient: recipient, Expires: now.Add(LinkFor)})
}

var encoding = base64.RawURLEncoding.Strict()

// Token writes a claim and its code in letters that an URL can carry.
func (s *Signer) Token(c Claim) string {
	w := wire{Occurrence: c.Occurrence, Action: c.Action, Recipient: c.Recipient, Expires: c.Expires.Unix()}
	if !c.Until.IsZero() {
		w.Until = c.Until.Unix()
	}
	body, _ := json.Marshal(w) // strings and integers always encode
	text := encoding.EncodeToString(body)
	return text + "." + s.code(text)
}

// code is what vouches for the text of a claim.
func (s *Signer) code(text string) string {
	mac := hmac.New(sha256.New, s.key)
	mac.Write([]byte(purpose))
	mac.Write([]byte(text))
	return encoding.EncodeToString(mac.Sum(nil)[:sealBytes])
}

// Open checks a token and gives what it says. Nothing in it is looked at
// before the code has been found right. On an error the claim is empty.
func (s *Signer) Open(token string, now time.Time) (Claim, error) {
	text, code, ok := strings.Cut(token, ".")
	if !ok || len(token) > maxToken {
		return Claim{}, ErrForged
	}
	// The code is compared as it is written: decoding passes over line ends.
	if !hmac.Equal([]byte(code), []byte(s.code(text))) {
		return Claim{}, ErrForged
	}
	body, err := encoding.DecodeString(text)
	var w wire
	if err != nil || json.Unmarshal(body, &w) != nil {
		return Claim{}, ErrForged
	}
	c := Claim{Occurrence: w.Occurrence, Action: w.Action, Recipient: w.Recipient, Expires: time.Unix(w.Expires, 0).UTC()}
	if w.Until != 0 {
		c.Until = time.Unix(w.Until, 0).UTC()
	}
	if !now.Before(c.Expires) {
		return Claim{}, ErrExpired
	}
	return c, nil
}
