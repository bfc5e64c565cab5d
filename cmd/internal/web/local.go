package web

import (
	"mime"
	"net"
	"net/http"
	"net/netip"
)

// localOnly lets a request through that a program on this machine made itself.
// A loopback sender is not enough: a browser on the machine can be made to send
// by a page from anywhere, and a proxy on the machine sends for others.
//
//   - The sender's address is a loopback address.
//   - No proxy speaks for somebody else (RFC 7239 and its forerunner).
//   - The Host is a loopback name, so that a foreign name that was pointed at
//     127.0.0.1 does not count.
//   - The body is JSON, which a foreign page cannot send without asking first,
//     and the browser, if it is one, does not call the request cross-site.
func localOnly(next http.Handler) http.Handler {
	sameSite := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case !loopbackAddress(r.RemoteAddr), forwarded(r), !loopbackHost(r.Host):
			refuse(w, http.StatusForbidden, "only from the machine that wickd runs on: log in there and use wickd ack or wickd shelve")
		case !isJSON(r):
			refuse(w, http.StatusUnsupportedMediaType, "the body must be application/json")
		default:
			sameSite.ServeHTTP(w, r)
		}
	})
}

func loopbackAddress(hostport string) bool {
	a, err := netip.ParseAddrPort(hostport)
	return err == nil && a.Addr().Unmap().IsLoopback()
}

func loopbackHost(host string) bool {
	name, _, err := net.SplitHostPort(host)
	if err != nil {
		name = host
	}
	if name == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(name)
	return err == nil && a.Unmap().IsLoopback()
}

func forwarded(r *http.Request) bool {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip", "Via"} {
		if r.Header.Get(name) != "" {
			return true
		}
	}
	return false
}

func isJSON(r *http.Request) bool {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && kind == "application/json"
}
