package notify

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// certificate makes a certificate for loopback that nobody has signed.
func certificate(t *testing.T) (cert, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
	}
	public, err := x509.CreateCertificate(rand.Reader, template, template, &private.PublicKey, private)
	require.NoError(t, err)
	secret, err := x509.MarshalECPrivateKey(private)
	require.NoError(t, err)
	dir := t.TempDir()
	write := func(name, kind string, bytes []byte) string {
		file := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: bytes}), 0o600))
		return file
	}
	return write("cert.pem", "CERTIFICATE", public), write("key.pem", "EC PRIVATE KEY", secret)
}

// Mail is encrypted as the URL asks and the server offers, and never goes to a
// server whose certificate is not good.
func TestMailIsEncrypted(t *testing.T) {
	cert, key := certificate(t)
	users := filepath.Join(t.TempDir(), "users")
	require.NoError(t, os.WriteFile(users, []byte("grower:right\n"), 0o600))
	tests := map[string]struct {
		server []string
		query  string
		reason Reason // empty: it is delivered
		user   string
	}{
		"asked for":          {server: []string{"--smtp-require-starttls"}, query: "&skiptlsverify=yes"},
		"with a login":       {server: []string{"--smtp-require-starttls", "--smtp-auth-file", users}, query: "&skiptlsverify=yes", user: "grower:right@"},
		"a wrong login":      {server: []string{"--smtp-require-starttls", "--smtp-auth-file", users}, query: "&skiptlsverify=yes", user: "grower:wrong@", reason: Auth},
		"from the beginning": {server: []string{"--smtp-require-tls"}, query: "&skiptlsverify=yes&encryption=ImplicitTLS"},
		"unknown issuer":     {server: []string{"--smtp-require-starttls"}, reason: Refused},
		"unknown from the beginning": {
			server: []string{"--smtp-require-tls"}, query: "&encryption=ImplicitTLS", reason: Refused,
		},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := startSink(t, append(c.server, "--smtp-tls-cert", cert, "--smtp-tls-key", key)...)
			url := "smtp://" + c.user + s.smtp + "/?from=wickd@example.com&to=grower@example.com" + c.query
			err := NewURLSender(0).Send(t.Context(), url, sample)
			if c.reason == "" {
				require.NoError(t, err)
				assert.Len(t, s.mails(t), 1)
				return
			}
			assert.Equal(t, c.reason, reasonOf(err), "%v", err)
			assert.Empty(t, s.mails(t))
		})
	}
}

// Where the URL insists on encryption, a server without it gets nothing.
func TestMailThatMustBeEncrypted(t *testing.T) {
	s := startSink(t)
	err := NewURLSender(0).Send(t.Context(), "smtp://"+s.smtp+"/?from=wickd@example.com&to=grower@example.com&requirestarttls=yes", sample)
	assert.Equal(t, Refused, reasonOf(err))
	assert.Empty(t, s.mails(t))
}
