package config

import (
	"fmt"
	"net"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// variable is a name of an environment variable (POSIX, Base Definitions 8.1).
var variable = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_]*$`)

// brokerSchemes are what the MQTT client connects by.
var brokerSchemes = []string{"tcp", "mqtt", "ssl", "tls", "mqtts", "ws", "wss"}

// mqtt makes the source of readings.
func (b *builder) mqtt() MQTT {
	raw := b.raw.MQTT
	if raw == nil {
		if len(b.sources) > 0 {
			b.missing(b.raw.place, "mqtt", "is missing, but the site has sensors", `for example mqtt: {broker: "tcp://127.0.0.1:1883"}`)
		}
		return MQTT{}
	}
	if !raw.given() {
		return MQTT{}
	}
	b.exactlyOne(raw.place, "give broker, or embedded, for example broker: tcp://127.0.0.1:1883",
		way{"broker", raw.Broker.given()}, way{"embedded", raw.Embedded != nil})
	m := MQTT{
		Broker: raw.Broker.value, ClientID: raw.ClientID.value, Username: raw.Username.value,
		Password: b.secret(raw.PasswordFile, raw.PasswordEnv), CAFile: b.beside(raw.CAFile),
	}
	if raw.Broker.given() {
		b.checkURL(raw.Broker, brokerSchemes, "tcp://127.0.0.1:1883")
		if m.ClientID == "" {
			m.ClientID = clientID(b.site.Name)
		}
		if m.Password.Given() && m.Username == "" {
			b.missing(raw.place, "username", "is missing beside the password", "for example username: wickd")
		}
	}
	if raw.Embedded != nil {
		m.Embedded = b.embedded(raw)
	}
	m.Ack = b.ack(raw.Ack)
	return m
}

// clientID makes a stable identity of the persistent session from the site's
// name: the broker keeps readings for it while wickd is down.
func clientID(site string) string {
	words := strings.FieldsFunc(strings.ToLower(site), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	return strings.Join(append([]string{"wickd"}, words...), "-")
}

func (b *builder) embedded(raw *rawMQTT) *Embedded {
	for _, t := range []text{raw.ClientID, raw.Username, raw.PasswordFile, raw.PasswordEnv, raw.CAFile} {
		if t.given() {
			b.report(t.place, "is for a broker elsewhere, not for the embedded one", "users of the embedded broker go under embedded.users")
		}
	}
	e := raw.Embedded
	if e.Listen.given() {
		b.checkListen(e.Listen)
	}
	out := &Embedded{Listen: e.Listen.value}
	for _, name := range inOrder(e.Users) {
		user := e.Users[name]
		if !user.given() {
			continue
		}
		secret := b.kept(user.PasswordFile, user.PasswordEnv)
		b.exactlyOne(user.place, "give password_file or password_env, for example password_file: sensors-password",
			way{"password_file", user.PasswordFile.given()}, way{"password_env", user.PasswordEnv.given()})
		out.Users = append(out.Users, User{Name: name, Password: secret})
	}
	if len(out.Users) == 0 && e.Listen.given() && !loopback(e.Listen.value) {
		b.warn(e.place, "anybody on the network can publish readings", "name users under embedded.users")
	}
	return out
}

func (b *builder) checkListen(t text) {
	_, port, err := net.SplitHostPort(t.value)
	n, err2 := strconv.Atoi(port)
	if err != nil || err2 != nil || n < 0 || n > 65535 {
		b.report(t.place, fmt.Sprintf("%q is not an address to listen on", t.value), `for example "0.0.0.0:1883"`)
	}
}

func loopback(listen string) bool {
	host, _, _ := net.SplitHostPort(listen)
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// checkURL refuses a URL that cannot be used or that carries a secret; the
// latter is not shown.
func (b *builder) checkURL(t text, schemes []string, example string) {
	u, err := url.Parse(t.value)
	switch {
	case strings.Contains(t.value, "@"):
		b.report(t.place, "the URL holds a user or a password", "keep them out of the site file: username and password_file, or token_file")
	case err != nil || u.Host == "" || !slices.Contains(schemes, u.Scheme):
		b.report(t.place, fmt.Sprintf("%q is not a URL that wickd can use", t.value),
			fmt.Sprintf("for example %s; it may start with %s", example, strings.Join(schemes, ", ")))
	}
}

// secret makes an optional secret from its two keys.
func (b *builder) secret(file, env text) Secret {
	if file.given() && env.given() {
		b.report(env.place, "the secret is in a file or in the environment, not both", "remove one of the two keys")
	}
	return b.kept(file, env)
}

// kept makes a secret from its two keys. What looks like the secret itself is
// refused and not shown: it would end up in the error of a missing file.
func (b *builder) kept(file, env text) Secret {
	if strings.Contains(file.value, "://") {
		b.report(file.place, "holds a URL instead of the name of a file", "put the URL into a file, for example url_file: keeper-url")
	}
	if env.given() && !variable.MatchString(env.value) {
		b.report(env.place, "does not hold the name of an environment variable", "letters, digits and _ only, for example WICKD_KEEPER_URL")
	}
	s := Secret{File: file.value, Env: env.value, dir: b.dir}
	for _, key := range []text{file, env} {
		if key.given() {
			b.secrets = append(b.secrets, Reference{Secret: s, at: Problem{File: b.file, Line: key.line, Column: key.column, Path: key.path}})
			break
		}
	}
	return s
}

func (b *builder) influx() *Influx {
	raw := b.raw.Influx
	if raw == nil || !raw.given() {
		return nil
	}
	if raw.URL.given() {
		b.checkURL(raw.URL, []string{"http", "https"}, "http://127.0.0.1:8086")
	}
	return &Influx{URL: raw.URL.value, Org: raw.Org.value, Bucket: raw.Bucket.value, Token: b.secret(raw.TokenFile, raw.TokenEnv)}
}
