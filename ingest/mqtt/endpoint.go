package mqtt

import (
	"errors"
	"fmt"
	"net"
	"net/url"
)

// endpoint is a broker's address, without secrets.
type endpoint struct {
	url  url.URL
	kind transport
}

type transport int

const (
	overTCP transport = iota
	overTLS
	overWebSocket // with or without TLS
)

// address is host:port.
func (e endpoint) address() string { return e.url.Host }

// session names the session of a client at this broker.
func (e endpoint) session(clientID string) string { return e.url.Host + "/" + clientID }

// parseEndpoint never repeats the URL in an error when it may hold a password.
func parseEndpoint(raw string) (endpoint, error) {
	const hint = "for example tcp://127.0.0.1:1883"
	u, err := url.Parse(raw)
	switch {
	case err != nil:
		return endpoint{}, fmt.Errorf("broker URL cannot be read, %s", hint)
	case u.User != nil:
		return endpoint{}, errors.New("broker URL: user and password do not belong in it, give a username and a password file")
	case u.Hostname() == "":
		return endpoint{}, fmt.Errorf("broker URL has no host, %s", hint)
	}
	e := endpoint{url: url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}}
	port := ""
	switch u.Scheme {
	case "tcp", "mqtt":
		e.kind, port = overTCP, "1883"
	case "ssl", "tls", "mqtts":
		e.kind, port = overTLS, "8883"
	case "ws":
		e.kind, port = overWebSocket, "80"
	case "wss":
		e.kind, port = overWebSocket, "443"
	default:
		return endpoint{}, fmt.Errorf("broker URL: scheme %q is not known, use tcp, ssl, ws or wss, %s", clip(u.Scheme), hint)
	}
	if u.Port() == "" {
		e.url.Host = net.JoinHostPort(u.Hostname(), port)
	}
	return e, nil
}
