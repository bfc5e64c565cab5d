// Package web is wickd's HTTP side: metrics, health, a page for people and the
// small interface that the commands status, ack and shelve talk to.
//
//	GET  /                    the site on one page
//	GET  /alert/{token}       one alert, for whoever holds the link of a message
//	GET  /alert/{token}/picture.png  its picture, for services that fetch what they show
//	POST /alert/{token}       a button of that page: acknowledge, put aside, take up again
//	GET  /metrics             Prometheus text format
//	GET  /healthz             200 while the daemon works, 503 and why otherwise
//	GET  /readyz              200 once it takes readings, 503 and why otherwise
//	GET  /api/v1/snapshot     Document, JSON
//	POST /api/v1/acknowledge  {"occurrence": …, "by": …}
//	POST /api/v1/shelve       {"occurrence": …, "until": RFC 3339}
//	POST /api/v1/unshelve     {"occurrence": …}
//
// A GET never changes anything. The POSTs of the interface are taken only
// from the machine itself (see local.go), because wickd has no accounts:
// whoever may log in on the board may acknowledge. The page of an alert takes
// its buttons from anywhere, but only with the signature of [Signer] on the link
// and on the button; used again, they change nothing. It knows no TLS and no passwords; whoever wants the
// page beyond the local network puts a proxy of their choice in front of it.
//
// The page needs no script and nothing from elsewhere, so it works on a
// greenhouse's own network without a way out.
//
// New starts nothing. Listen opens the socket, Serve blocks until its context
// ends and then lets open requests finish. All handlers may run concurrently;
// the functions in Options must allow that and return memory that nobody changes
// afterwards.
package web
