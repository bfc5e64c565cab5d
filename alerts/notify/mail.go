package notify

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/nicholas-fedor/shoutrrr/pkg/services/email/smtp"
	gomail "github.com/wneessen/go-mail"
)

// sendMail sends a mail with the picture under the text. The notification
// library reads the URL; its own mail can carry no picture. Every address gets a
// mail of its own. It is an error if the server takes the mail for none of them:
// for those that it took it for, a repetition would be the greater evil. Only a
// message that nobody repeats may ask for every address.
func sendMail(ctx context.Context, to *smtp.Config, m Message) error {
	c := to.Clone()
	c.FixEmailTags()
	client, err := gomail.NewClient(c.Host, connection(c)...)
	if err != nil {
		return err
	}
	if err := client.DialWithContext(ctx); err != nil {
		return err
	}
	defer client.Close() // the mail is taken, whatever the server says to this
	picture := m.drawn(ctx)
	var errs []error
	for _, address := range c.ToAddresses {
		if err := m.hand(client, c, address, picture); err != nil {
			errs = append(errs, err)
		}
	}
	if len(errs) == len(c.ToAddresses) || m.EveryAddress {
		return errors.Join(errs...)
	}
	return nil
}

// connection says how to reach the server: encrypted as the URL asks, and
// logged in as it says.
func connection(c smtp.Config) []gomail.Option {
	host := c.ClientHost
	if host == "auto" {
		host = "localhost" // the name of a board in a greenhouse tells a server nothing
	}
	options := []gomail.Option{
		gomail.WithPort(int(c.Port)), gomail.WithHELO(host), gomail.WithTLSPolicy(policy(c)), gomail.WithTimeout(DefaultTimeout),
		gomail.WithTLSConfig(&tls.Config{ServerName: c.Host, MinVersion: tls.VersionTLS12, InsecureSkipVerify: c.SkipTLSVerify}),
	}
	if c.Encryption == smtp.EncImplicitTLS || c.Encryption == smtp.EncAuto && c.Port == smtp.ImplicitTLSPort {
		options = append(options, gomail.WithSSL())
	}
	kind, ok := map[string]gomail.SMTPAuthType{
		smtp.AuthPlain.String():   gomail.SMTPAuthPlain, // refuses to go unencrypted
		smtp.AuthCRAMMD5.String(): gomail.SMTPAuthCramMD5,
		smtp.AuthOAuth2.String():  gomail.SMTPAuthXOAUTH2,
	}[c.Auth.String()]
	if ok {
		options = append(options, gomail.WithSMTPAuth(kind), gomail.WithUsername(c.Username), gomail.WithPassword(c.Password))
	}
	return options
}

func policy(c smtp.Config) gomail.TLSPolicy {
	switch {
	case c.RequireStartTLS:
		return gomail.TLSMandatory
	case c.UseStartTLS:
		return gomail.TLSOpportunistic
	}
	return gomail.NoTLS
}

// hand gives the server a mail to one address.
func (m Message) hand(client *gomail.Client, c smtp.Config, address string, picture []byte) error {
	out := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := errors.Join(out.FromFormat(c.FromName, c.FromAddress), out.To(address)); err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(address + m.Text + m.Time.UTC().Format(time.RFC3339Nano)))
	_, domain, _ := strings.Cut(c.FromAddress, "@")
	out.SetMessageIDWithValue(fmt.Sprintf("%x@%s", sum[:16], domain))
	out.SetDateWithValue(m.Time)
	out.Subject(clip(m.Title))
	out.SetBodyString(gomail.TypeTextPlain, m.Text)
	if picture != nil {
		if err := out.EmbedReader(pictureName, bytes.NewReader(picture)); err != nil {
			return err
		}
	}
	return client.Send(out)
}
