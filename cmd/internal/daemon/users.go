package daemon

import (
	"crypto/subtle"

	"wickd/cmd/internal/config"
)

// authenticator checks the embedded broker's users against secrets that are
// read at every connect, so that a changed password counts at once.
func authenticator(users []config.User) func(name, password string) bool {
	return func(name, password string) bool {
		ok := false
		for _, u := range users {
			if u.Name != name {
				continue
			}
			want, err := u.Password.Read()
			ok = err == nil && want != "" && subtle.ConstantTimeCompare([]byte(want), []byte(password)) == 1
		}
		return ok
	}
}
