package broker

import (
	"bufio"
	"bytes"
	"crypto/pbkdf2"
	"crypto/sha512"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Passwords checks users against a file. Each line is name:password or, as
// mosquitto_passwd(1) writes it, name:$7$iterations$salt$hash (PBKDF2 with
// SHA-512). Empty lines and lines that start with # do not count.
type Passwords struct {
	path string

	mu    sync.Mutex
	read  time.Time // guarded by mu; modification time of the file when it was read
	users map[string]secret
	err   error // guarded by mu; of the last attempt to read a changed file
}

// secret is a password, or what was derived from one.
type secret struct {
	iterations int // 0: hash is the SHA-512 of a password in clear
	salt, hash []byte
}

// PasswordFile reads the file, so that mistakes show at the start, and again
// whenever it has changed. When a changed file cannot be read, the users as they
// were stay valid and Err tells.
func PasswordFile(path string) (*Passwords, error) {
	p := &Passwords{path: path}
	p.refresh()
	if p.err != nil {
		return nil, p.err
	}
	return p, nil
}

// Err is why the file as it is now cannot be used, or nil.
func (p *Passwords) Err() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.err
}

// Authenticate reports whether the password is the user's. It takes as long for
// an unknown user.
func (p *Passwords) Authenticate(username, password string) bool {
	p.mu.Lock()
	p.refresh()
	s, known := p.users[username]
	if !known {
		for _, s = range p.users {
			break
		}
	}
	p.mu.Unlock()
	return s.matches(password) && known
}

// refresh reads the file when its modification time is another.
func (p *Passwords) refresh() {
	info, err := os.Stat(p.path)
	if err == nil && info.ModTime().Equal(p.read) {
		return
	}
	var users map[string]secret
	if err == nil {
		users, err = readPasswords(p.path)
	}
	if err != nil {
		p.err = fmt.Errorf("password file: %w", err)
		return
	}
	p.read, p.users, p.err = info.ModTime(), users, nil
}

func readPasswords(path string) (map[string]secret, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	users, err := parsePasswords(data)
	if err != nil {
		return nil, fmt.Errorf("%s:%w", path, err)
	}
	return users, nil
}

// parsePasswords never repeats a line in an error. Errors start with the line
// number.
func parsePasswords(data []byte) (map[string]secret, error) {
	users := make(map[string]secret)
	lines := bufio.NewScanner(bytes.NewReader(data))
	n := 0
	for lines.Scan() {
		n++
		line := strings.TrimRight(lines.Text(), "\r")
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		name, field, ok := strings.Cut(line, ":")
		if !ok || name == "" || field == "" {
			return nil, fmt.Errorf("%d: needs name:password", n)
		}
		if _, twice := users[name]; twice {
			return nil, fmt.Errorf("%d: user %q is there twice", n, name)
		}
		s, err := parseSecret(field)
		if err != nil {
			return nil, fmt.Errorf("%d: user %q: %w", n, name, err)
		}
		users[name] = s
	}
	switch {
	case lines.Err() != nil:
		return nil, fmt.Errorf("%d: %w", n+1, lines.Err())
	case len(users) == 0:
		return nil, errors.New("1: holds no user")
	}
	return users, nil
}

func parseSecret(field string) (secret, error) {
	if !strings.HasPrefix(field, "$") {
		sum := sha512.Sum512([]byte(field))
		return secret{hash: sum[:]}, nil
	}
	parts := strings.Split(field, "$") // "", "7", iterations, salt, hash
	if len(parts) != 5 || parts[1] != "7" {
		return secret{}, errors.New("only $7$ hashes are known; make it with mosquitto_passwd")
	}
	iterations, err1 := strconv.Atoi(parts[2])
	salt, err2 := base64.StdEncoding.DecodeString(parts[3])
	hash, err3 := base64.StdEncoding.DecodeString(parts[4])
	if errors.Join(err1, err2, err3) != nil || iterations < 1 || iterations > 1e6 || len(hash) != sha512.Size {
		return secret{}, errors.New("the hash is damaged; make it anew with mosquitto_passwd")
	}
	return secret{iterations: iterations, salt: salt, hash: hash}, nil
}

func (s secret) matches(password string) bool {
	got := make([]byte, sha512.Size)
	if s.iterations == 0 {
		sum := sha512.Sum512([]byte(password))
		copy(got, sum[:])
	} else {
		key, err := pbkdf2.Key(sha512.New, password, s.salt, s.iterations, sha512.Size)
		if err != nil {
			return false
		}
		copy(got, key)
	}
	return subtle.ConstantTimeCompare(got, s.hash) == 1
}
