package mqtt_test

import (
	"errors"
	"net"
	"net/url"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/require"
)

// errCut is what a cut line says. The library takes the error of a closed
// connection for its own doing.
var errCut = errors.New("line cut")

// line is a network connection that can be cut.
type line struct {
	mu   sync.Mutex
	conn *lineConn
}

type lineConn struct {
	*net.TCPConn
	cut atomic.Bool
}

func (c *lineConn) Read(b []byte) (int, error) {
	n, err := c.TCPConn.Read(b)
	if c.cut.Load() {
		return 0, errCut
	}
	return n, err
}

func (c *lineConn) Write(b []byte) (int, error) {
	n, err := c.TCPConn.Write(b)
	if c.cut.Load() {
		return 0, errCut
	}
	return n, err
}

func (l *line) use(c net.Conn) net.Conn {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conn = &lineConn{TCPConn: c.(*net.TCPConn)}
	return l.conn
}

// cut ends the connection without a DISCONNECT and without a FIN.
func (l *line) cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conn.cut.Store(true)
	_ = l.conn.SetLinger(0) // fails when the library was faster
	_ = l.conn.Close()
}

// sensor publishes at QoS 1 and keeps what is not acknowledged, as a good
// sensor does. It goes on trying to connect.
type sensor struct {
	paho.Client
	line  line
	first paho.Token // of the first connection
}

func newSensor(t *testing.T, address, id string, tweaks ...func(*paho.ClientOptions)) *sensor {
	t.Helper()
	s := &sensor{}
	o := paho.NewClientOptions().
		AddBroker("tcp://" + address).
		SetClientID(id).
		SetCleanSession(false).
		SetStore(paho.NewOrderedMemoryStore()).
		SetConnectRetry(true).SetConnectRetryInterval(20 * time.Millisecond).
		SetMaxReconnectInterval(20 * time.Millisecond).
		SetWriteTimeout(patience)
	o.SetCustomOpenConnectionFn(func(u *url.URL, _ paho.ClientOptions) (net.Conn, error) {
		c, err := net.Dial("tcp", u.Host)
		if err != nil {
			return nil, err
		}
		return s.line.use(c), nil
	})
	for _, tweak := range tweaks {
		tweak(o)
	}
	s.Client = paho.NewClient(o)
	s.first = s.Connect()
	t.Cleanup(func() { s.Disconnect(1000) })
	return s
}

// waitConnected waits for the first connection. To publish while the library is
// reconnecting is a data race in it, so tests take another sensor then.
func (s *sensor) waitConnected(t *testing.T) {
	t.Helper()
	confirmed(t, s.first)
}

// send publishes the numbers from first to last and returns their tokens.
func (s *sensor) send(topic string, first, last int) []paho.Token {
	var tokens []paho.Token
	for i := first; i <= last; i++ {
		tokens = append(tokens, s.Publish(topic, 1, false, strconv.Itoa(i)))
	}
	return tokens
}

func confirmed(t *testing.T, tokens ...paho.Token) {
	t.Helper()
	for _, token := range tokens {
		require.True(t, token.WaitTimeout(patience), "no PUBACK")
		require.NoError(t, token.Error())
	}
}

func numbers(first, last int) []string {
	var out []string
	for i := first; i <= last; i++ {
		out = append(out, strconv.Itoa(i))
	}
	return out
}
