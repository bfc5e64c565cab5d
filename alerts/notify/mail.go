package notify

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net"
	mailaddress "net/mail"
	smtpclient "net/smtp"
	"net/textproto"
	"strconv"
	"strings"
	"time"

	"github.com/nicholas-fedor/shoutrrr/pkg/services/email/smtp"
)

// sendMail sends a mail with the picture under the text. The library reads the
// URL; its own mail can carry no picture. Every address gets a mail of its own.
// It is an error if the server takes the mail for none of them: for those that
// it took it for, a repetition would be the greater evil.
func sendMail(ctx context.Context, to *smtp.Config, m Message) error {
	c := to.Clone()
	c.FixEmailTags()
	client, err := greet(ctx, c)
	if err != nil {
		return err
	}
	defer client.Close()
	picture := m.drawn(ctx)
	var errs []error
	for _, address := range c.ToAddresses {
		if err := hand(client, c, address, m.mail(c, address, picture)); err != nil {
			errs = append(errs, err)
			_ = client.Reset() // the next address may be better
		}
	}
	_ = client.Quit() // the mail is taken, whatever the server says to this
	if len(errs) == len(c.ToAddresses) {
		return errors.Join(errs...)
	}
	return nil
}

// greet connects, encrypts as the URL asks and logs in. The connection ends
// with ctx.
func greet(ctx context.Context, c smtp.Config) (*smtpclient.Client, error) {
	secure := &tls.Config{ServerName: c.Host, MinVersion: tls.VersionTLS12, InsecureSkipVerify: c.SkipTLSVerify}
	conn, err := (&net.Dialer{}).DialContext(ctx, "tcp", net.JoinHostPort(c.Host, strconv.Itoa(int(c.Port))))
	if err != nil {
		return nil, err
	}
	if deadline, ok := ctx.Deadline(); ok {
		_ = conn.SetDeadline(deadline)
	}
	implicit := c.Encryption == smtp.EncImplicitTLS || c.Encryption == smtp.EncAuto && c.Port == smtp.ImplicitTLSPort
	if implicit {
		conn = tls.Client(conn, secure)
	}
	client, err := smtpclient.NewClient(conn, c.Host)
	if err != nil {
		_ = conn.Close()
		return nil, err
	}
	if err := introduce(client, c, secure, implicit); err != nil {
		_ = client.Close()
		return nil, err
	}
	return client, nil
}

func introduce(client *smtpclient.Client, c smtp.Config, secure *tls.Config, encrypted bool) error {
	host := c.ClientHost
	if host == "auto" {
		host = "localhost" // the name of a board in a greenhouse tells a server nothing
	}
	if err := client.Hello(host); err != nil {
		return err
	}
	if offered, _ := client.Extension("STARTTLS"); !encrypted && c.UseStartTLS {
		switch {
		case offered:
			if err := client.StartTLS(secure); err != nil {
				return err
			}
		case c.RequireStartTLS:
			return errors.New("tls: the server offers none")
		}
	}
	if auth := login(c); auth != nil {
		return client.Auth(auth)
	}
	return nil
}

// login is nil where the server asks nobody.
func login(c smtp.Config) smtpclient.Auth {
	switch c.Auth {
	case smtp.AuthPlain:
		return smtpclient.PlainAuth("", c.Username, c.Password, c.Host) // refuses to go unencrypted
	case smtp.AuthCRAMMD5:
		return smtpclient.CRAMMD5Auth(c.Username, c.Password)
	case smtp.AuthOAuth2:
		return smtp.OAuth2Auth(c.Username, c.Password)
	}
	return nil
}

func hand(client *smtpclient.Client, c smtp.Config, address string, content []byte) error {
	if err := client.Mail(c.FromAddress); err != nil {
		return err
	}
	if err := client.Rcpt(address); err != nil {
		return err
	}
	w, err := client.Data()
	if err != nil {
		return err
	}
	if _, err := w.Write(content); err != nil {
		return err
	}
	return w.Close()
}

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
