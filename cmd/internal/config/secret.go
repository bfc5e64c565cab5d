package config

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Secret says where a password, a token or a URL with one in it is kept. The
// site file never holds it, so neither can an error or a log.
type Secret struct {
	File string // path; relative ones start at dir
	Env  string // name of an environment variable
	dir  string // of the site file
}

// maxSecret bounds what is read as a secret; the longest in use, a signed
// token, is a tenth of it.
const maxSecret = 64 << 10

// Given says that a secret is named at all.
func (s Secret) Given() bool { return s.File != "" || s.Env != "" }

// Read fetches the secret, without the space around it. A relative file is
// looked for in $CREDENTIALS_DIRECTORY first, where systemd puts what
// LoadCredential names, and then beside the site file. Errors name the file or
// the variable and never what is in it.
func (s Secret) Read() (string, error) {
	switch {
	case s.Env != "":
		return trimmed(os.Getenv(s.Env), "environment variable "+s.Env)
	case s.File != "":
		path := s.path()
		data, err := readCapped(path)
		if err != nil {
			return "", fmt.Errorf("read secret: %w", err)
		}
		return trimmed(string(data), "file "+path)
	}
	return "", errors.New("read secret: no file or environment variable is named in the site file")
}

func (s Secret) path() string {
	if filepath.IsAbs(s.File) {
		return s.File
	}
	if dir := os.Getenv("CREDENTIALS_DIRECTORY"); dir != "" {
		if path := filepath.Join(dir, s.File); exists(path) {
			return path
		}
	}
	return filepath.Join(s.dir, s.File)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

func readCapped(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxSecret+1))
	if err == nil && len(data) > maxSecret {
		err = fmt.Errorf("%s is larger than %d KiB; is it the right file?", path, maxSecret>>10)
	}
	return data, err
}

func trimmed(secret, from string) (string, error) {
	if secret = strings.TrimSpace(secret); secret == "" {
		return "", fmt.Errorf("read secret: %s is empty", from)
	}
	return secret, nil
}

// beside makes a relative path start at the site file.
func (b *builder) beside(t text) string {
	if t.value == "" || filepath.IsAbs(t.value) {
		return t.value
	}
	return filepath.Join(b.dir, t.value)
}
