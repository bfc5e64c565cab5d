package notify

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	smtpclient "net/smtp"
	"strconv"

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
