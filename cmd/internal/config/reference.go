package config

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
)

// Reference is a place of the site file that names a secret.
type Reference struct {
	Secret
	at Problem // without a message
}

// Secrets lists the places that name a secret, in the order of the file.
func (c *Config) Secrets() []Reference {
	all := slices.Clone(c.secrets)
	slices.SortStableFunc(all, func(a, b Reference) int { return a.at.Line - b.at.Line })
	return all
}

// Path is where it stands: "notify.recipients.grower.url_file".
func (r Reference) Path() string { return r.at.Path }

// Problem is something wrong with the secret, told at its place.
func (r Reference) Problem(message, hint string) Problem {
	p := r.at
	p.Message, p.Hint = message, hint
	return p
}

// Problems says what is wrong with the secret on this machine and for whoever
// runs this; nothing of what it holds is in it. They do not make the site file
// wrong: it may be meant for another machine.
func (r Reference) Problems() Problems {
	if r.Env != "" {
		return r.variable()
	}
	path := r.path()
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Problems{r.Problem("there is no file "+path, "write the secret into it, one line, and run: chmod 600 "+path+"; for the systemd service, put it into /etc/wickd/secrets")}
	case err == nil && info.IsDir():
		return Problems{r.Problem(path+" is a directory", "name the file in it that holds the secret")}
	case err == nil:
		return append(r.content(path), r.readers(path, info.Mode())...)
	}
	return Problems{r.unreadable(path, err)}
}

func (r Reference) unreadable(path string, err error) Problem {
	var cause *fs.PathError
	if errors.As(err, &cause) {
		err = cause.Err
	}
	return r.Problem(fmt.Sprintf("%s cannot be read: %v", path, err), "give it to the user who runs wickd (chown); for the systemd service, put it into /etc/wickd/secrets")
}

func (r Reference) variable() Problems {
	switch value, set := os.LookupEnv(r.Env); {
	case !set:
		return Problems{r.Problem("the environment variable "+r.Env+" is not set", "set it where wickd is started, under systemd in an EnvironmentFile, or name a file that holds the secret")}
	case strings.TrimSpace(value) == "":
		return Problems{r.Problem("the environment variable "+r.Env+" is empty", "set it to the secret where wickd is started")}
	}
	return nil
}

func (r Reference) content(path string) Problems {
	data, err := readCapped(path)
	secret := strings.TrimSpace(string(data))
	switch {
	case err != nil && len(data) > maxSecret:
		return Problems{r.Problem(fmt.Sprintf("%s is larger than %d KiB", path, maxSecret>>10), "is it the right file?")}
	case err != nil:
		return Problems{r.unreadable(path, err)}
	case secret == "":
		return Problems{r.Problem(path+" is empty", "write the secret into it, one line")}
	case strings.ContainsAny(secret, "\r\n"):
		return Problems{r.Problem(path+" holds more than one line", "leave the secret alone in it")}
	}
	return nil
}

// readers says who else can read a file; its group may be wickd's own.
func (r Reference) readers(path string, mode fs.FileMode) Problems {
	const others = 0o004
	if mode.Perm()&others == 0 {
		return nil
	}
	return Problems{r.Problem("anybody on this machine can read "+path, "run: chmod 600 "+path)}
}
