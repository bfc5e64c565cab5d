package mqtt

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"syscall"

	"github.com/eclipse/paho.mqtt.golang/packets"
)

var (
	// ErrNotConnected is returned by Publish while there is no connection.
	ErrNotConnected = errors.New("not connected to the broker")
	// ErrConnectionLost is returned by Publish when the connection ended
	// before the broker confirmed: the message may or may not have arrived.
	ErrConnectionLost = errors.New("connection to the broker lost")
	// ErrUnacked is returned by Run when messages were still unacknowledged
	// at the end. The broker delivers them again.
	ErrUnacked = errors.New("messages left unacknowledged")
	// ErrRunning is returned by a second Run.
	ErrRunning = errors.New("client is already running")
	// ErrCAFile is returned by New when the file of Options.CAFile is not to be read or
	// holds no certificate.
	ErrCAFile = errors.New("CA file")

	errRefused = errors.New("broker refused the connection")
)

// ConnectError is a failed attempt to connect.
type ConnectError struct {
	Broker string // host:port
	Reason string // a label: password, refused, tls, network, handshake
	Hint   string // for the operator; may be empty
	Err    error
}

func (e *ConnectError) Error() string {
	s := fmt.Sprintf("connect to broker %s: %v", e.Broker, e.Err)
	if e.Hint != "" {
		s += " (" + e.Hint + ")"
	}
	return s
}

// Unwrap returns the cause.
func (e *ConnectError) Unwrap() error { return e.Err }

// SubscribeError lists what the broker did not grant.
type SubscribeError struct {
	Refused []string // return code 0x80
	Lowered []string // granted at QoS 0: delivered, but lost while wickd is down
}

func (e *SubscribeError) Error() string {
	var parts []string
	if len(e.Refused) > 0 {
		parts = append(parts, fmt.Sprintf("broker refused %s (does its access list let this user read them?)", list(e.Refused)))
	}
	if len(e.Lowered) > 0 {
		parts = append(parts, fmt.Sprintf("broker grants only QoS 0 for %s (readings are lost while wickd is down; raise max_qos)", list(e.Lowered)))
	}
	return "subscribe: " + strings.Join(parts, "; ")
}

func list(topics []string) string {
	const most = 5
	if len(topics) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(topics[:most], ", "), len(topics)-most)
	}
	return strings.Join(topics, ", ")
}

// explain names the reason and what an operator can do.
func explain(broker string, err error) *ConnectError {
	e := &ConnectError{Broker: broker, Err: withoutPorts(err), Reason: "network"}
	var unknown x509.UnknownAuthorityError
	var hostname x509.HostnameError
	var record tls.RecordHeaderError
	var dns *net.DNSError
	switch {
	case errors.Is(err, packets.ErrorRefusedBadUsernameOrPassword), errors.Is(err, packets.ErrorRefusedNotAuthorised):
		e.Reason, e.Hint = "refused", "check the username and the password file, and the broker's own"
	case errors.Is(err, packets.ErrorRefusedIDRejected):
		e.Reason, e.Hint = "refused", "the broker does not accept this client id"
	case errors.Is(err, errRefused):
		e.Reason, e.Hint = "refused", "its log says why; does it allow QoS 1 and retained messages?"
	case errors.Is(err, packets.ErrorRefusedServerUnavailable), errors.Is(err, packets.ErrorRefusedBadProtocolVersion):
		e.Reason = "refused"
	case errors.As(err, &unknown):
		e.Reason, e.Hint = "tls", "give the file of the CA that signed the broker's certificate"
	case errors.As(err, &hostname):
		e.Reason, e.Hint = "tls", "use the name that the broker's certificate was made for"
	case errors.As(err, &record):
		e.Reason, e.Hint = "tls", "the port does not speak TLS; use tcp:// or the TLS port"
	case errors.As(err, &dns):
		e.Hint = "the host name is not known"
	case errors.Is(err, syscall.ECONNREFUSED):
		e.Hint = "is the broker running there?"
	case errors.Is(err, context.DeadlineExceeded):
		e.Hint = "no answer in time; is the address right, is a firewall between?"
	case errors.Is(err, io.EOF), errors.Is(err, syscall.ECONNRESET):
		e.Reason, e.Hint = "handshake", "the port closed the connection; does it speak MQTT, and both sides TLS or both not?"
	}
	return e
}

// withoutPorts leaves the cause of a network error, without addresses and
// system call. The local port is another one on each attempt, and the text of a
// failure that stays the same should stay the same.
func withoutPorts(err error) error {
	var op *net.OpError
	var call *os.SyscallError
	switch {
	case errors.As(err, &call):
		return call.Err
	case errors.As(err, &op):
		return op.Err
	}
	return err
}
