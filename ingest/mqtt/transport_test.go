package mqtt_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/mqtt"
	"wickd/ingest/rig"
)

func TestTransports(t *testing.T) {
	certs := newCertificates(t)
	tests := map[string]struct {
		scheme  string
		listen  string // lines for the listener
		caFile  string
		failure string // in OnDown; empty: connects
	}{
		"tls":           {"ssl", certs.lines(), certs.ca, ""},
		"tls, wrong CA": {"ssl", certs.lines(), newCertificates(t).ca, "CA that signed"},
		"tls, no TLS":   {"ssl", "", certs.ca, "both sides TLS"},
		"tcp to TLS":    {"tcp", certs.lines(), "", "both sides TLS"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			m := startMosquitto(t, "\nallow_anonymous true\n", tt.listen+"\nallow_anonymous true\n")
			rec := newRecorder()
			c := newClient(t, "", rec, func(o *mqtt.Options) {
				o.URL = tt.scheme + "://" + m.Address
				o.CAFile = tt.caFile
			})
			if tt.failure != "" {
				require.Eventually(t, func() bool { return len(noted(c, &c.downs)) == 1 }, patience, pollEvery)
				assert.ErrorContains(t, noted(c, &c.downs)[0], tt.failure)
				require.NoError(t, c.stop(t))
				return
			}
			c.waitConnected(t)
			require.NoError(t, c.Publish(t.Context(), "yard/a1/moisture", []byte("0.41"), false))
			assert.Equal(t, []string{"0.41"}, payloads(rec.wait(t, 1)))
			require.NoError(t, c.stop(t))
		})
	}
}

// mosquitto cannot bind WebSockets to the loopback address, the library can.
func TestWebSocket(t *testing.T) {
	address := rig.FreeAddress(t)
	newStrict(t, new(strict), mochi.NewDefaultServerCapabilities(),
		listeners.NewWebsocket(listeners.Config{ID: "ws", Address: address}))
	rec := newRecorder()
	c := newClient(t, "", rec, func(o *mqtt.Options) { o.URL = "ws://" + address + "/mqtt" })
	c.waitConnected(t)
	require.NoError(t, c.Publish(t.Context(), "yard/a1/moisture", []byte("0.41"), false))
	assert.Equal(t, []string{"0.41"}, payloads(rec.wait(t, 1)))
	require.NoError(t, c.stop(t))
}

// The same failure is logged once, although its local port differs each time.
func TestARepeatedFailureIsLoggedOnce(t *testing.T) {
	rude, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	var hangUps atomic.Int32
	var serving sync.WaitGroup
	serving.Go(func() {
		for {
			conn, err := rude.Accept()
			if err != nil {
				return
			}
			_ = conn.(*net.TCPConn).SetLinger(0) // reset
			_ = conn.Close()
			hangUps.Add(1)
		}
	})
	defer serving.Wait()
	defer rude.Close()
	c := newClient(t, rude.Addr().String(), newRecorder(), func(o *mqtt.Options) {
		o.RetryMin, o.RetryMax = time.Millisecond, time.Millisecond
	})
	require.Eventually(t, func() bool { return hangUps.Load() > 20 }, patience, pollEvery)
	require.NoError(t, c.stop(t))
	assert.Equal(t, 1, strings.Count(c.log.String(), "no connection"), "%s", c.log)
	assert.Len(t, noted(c, &c.downs), 1)
}

// certificates are a CA and a broker certificate for 127.0.0.1, as files.
type certificates struct{ ca, cert, key string }

func (c certificates) lines() string {
	return "\ncafile " + c.ca + "\ncertfile " + c.cert + "\nkeyfile " + c.key
}

func newCertificates(t *testing.T) certificates {
	t.Helper()
	dir := t.TempDir()
	c := certificates{filepath.Join(dir, "ca.crt"), filepath.Join(dir, "broker.crt"), filepath.Join(dir, "broker.key")}
	valid := func(serial int64, name string) *x509.Certificate {
		return &x509.Certificate{
			SerialNumber: big.NewInt(serial),
			Subject:      pkix.Name{CommonName: name},
			NotBefore:    time.Now().Add(-time.Hour),
			NotAfter:     time.Now().Add(time.Hour),
		}
	}
	caKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	ca := valid(1, "Kestrel Yard CA")
	ca.IsCA, ca.BasicConstraintsValid, ca.KeyUsage = true, true, x509.KeyUsageCertSign
	sign(t, c.ca, ca, ca, &caKey.PublicKey, caKey)

	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	broker := valid(2, "broker")
	broker.IPAddresses = []net.IP{net.IPv4(127, 0, 0, 1)}
	sign(t, c.cert, broker, ca, &key.PublicKey, caKey)
	der, err := x509.MarshalECPrivateKey(key)
	require.NoError(t, err)
	writePEM(t, c.key, "EC PRIVATE KEY", der)
	return c
}

func sign(t *testing.T, file string, cert, parent *x509.Certificate, public *ecdsa.PublicKey, by *ecdsa.PrivateKey) {
	t.Helper()
	der, err := x509.CreateCertificate(rand.Reader, cert, parent, public, by)
	require.NoError(t, err)
	writePEM(t, file, "CERTIFICATE", der)
}

func writePEM(t *testing.T, file, kind string, der []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600))
}
