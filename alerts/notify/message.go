package notify

import (
	"context"
	"strings"
	"time"

	"wickd/model"
)

// titleMax bounds a title, in bytes: services cut longer ones at will.
const titleMax = 120

// Message is what one recipient gets: the title fits a lock screen, the text is
// the whole of it and begins with the title.
type Message struct {
	Time     time.Time // when it was composed
	Title    string
	Text     string
	Priority model.Priority // of the most urgent notice in it
	Notices  int            // how many it tells of

	Page    string   // address of the most urgent alert's page; empty: none
	Image   string   // address of its picture, for services that fetch it; empty: none
	Answers []Answer // buttons that the service itself can show
	// EveryAddress makes it an error if a mail is refused for any of its
	// addresses, and not only if it is for all.
	EveryAddress bool
	// Draw gives the picture as PNG, for services that take one; it is called
	// only for them. A nil Draw, or nil bytes: there is none.
	Draw func(ctx context.Context) []byte
}

// drawn is the picture, if there is one.
func (m Message) drawn(ctx context.Context) []byte {
	if m.Draw == nil {
		return nil
	}
	return m.Draw(ctx)
}

// clip keeps a title to one line of a bearable length, whole letters only.
func clip(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) <= titleMax {
		return s
	}
	cut := titleMax - len("…")
	for cut > 0 && s[cut]&0xC0 == 0x80 {
		cut--
	}
	return s[:cut] + "…"
}
