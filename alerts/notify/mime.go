package notify

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	mailaddress "net/mail"
	"net/textproto"
	"strings"
	"time"

	"github.com/nicholas-fedor/shoutrrr/pkg/services/email/smtp"
)

// mail writes a mail to one address (RFC 5322, RFC 2045–2047). What is plain
// text for a reader that shows no pictures stays plain text.
func (m Message) mail(c smtp.Config, address string, picture []byte) []byte {
	var out bytes.Buffer
	sum := sha256.Sum256([]byte(address + m.Text + m.Time.UTC().Format(time.RFC3339Nano)))
	_, domain, _ := strings.Cut(c.FromAddress, "@")
	for _, line := range [][2]string{
		{"From", (&mailaddress.Address{Name: c.FromName, Address: c.FromAddress}).String()},
		{"To", (&mailaddress.Address{Address: address}).String()},
		{"Subject", mime.QEncoding.Encode("utf-8", clip(m.Title))},
		{"Date", m.Time.Format(time.RFC1123Z)},
		{"Message-ID", fmt.Sprintf("<%x@%s>", sum[:16], domain)},
		{"MIME-Version", "1.0"},
	} {
		fmt.Fprintf(&out, "%s: %s\r\n", line[0], line[1])
	}
	text := textproto.MIMEHeader{
		"Content-Type": {"text/plain; charset=utf-8"}, "Content-Transfer-Encoding": {"quoted-printable"},
	}
	if picture == nil {
		fmt.Fprintf(&out, "Content-Type: %s\r\nContent-Transfer-Encoding: %s\r\n\r\n", text.Get("Content-Type"), text.Get("Content-Transfer-Encoding"))
		printable(&out, m.Text)
		return out.Bytes()
	}
	parts := multipart.NewWriter(&out)
	fmt.Fprintf(&out, "Content-Type: multipart/mixed; boundary=%q\r\n\r\n", parts.Boundary())
	w, _ := parts.CreatePart(text) // writes to memory do not fail
	printable(w, m.Text)
	w, _ = parts.CreatePart(textproto.MIMEHeader{
		"Content-Type": {"image/png"}, "Content-Transfer-Encoding": {"base64"},
		"Content-Disposition": {`inline; filename="` + pictureName + `"`},
	})
	folded(w, picture)
	_ = parts.Close()
	return out.Bytes()
}

// printable writes quoted-printable text, which also ends its lines in CRLF.
func printable(w io.Writer, text string) {
	q := quotedprintable.NewWriter(w)
	_, _ = io.WriteString(q, text)
	_ = q.Close()
}

// folded writes base64 in the lines of 76 letters that RFC 2045 §6.8 allows.
func folded(w io.Writer, data []byte) {
	const line = 76
	text := base64.StdEncoding.EncodeToString(data)
	for len(text) > line {
		_, _ = io.WriteString(w, text[:line]+"\r\n")
		text = text[line:]
	}
	_, _ = io.WriteString(w, text+"\r\n")
}
