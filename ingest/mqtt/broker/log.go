package broker

import (
	"context"
	"errors"
	"log/slog"
	"net"
)

// safeAttr knows the attributes of the server library's log lines that hold no
// payload and no credentials. It also logs whole packets, CONNECT with its
// password among them.
func safeAttr(key string) bool {
	switch key {
	case "error", "client", "listener", "remote", "old_remote", "new_remote",
		"hook", "id", "address", "protocol", "version", "keepalive", "recommended":
		return true
	}
	return false
}

// libraryHandler passes the server library's log lines on: stripped, and
// everything below warning as debug, because none of it calls for action.
type libraryHandler struct{ next slog.Handler }

func libraryLogger(to *slog.Logger) *slog.Logger {
	return slog.New(libraryHandler{next: to.Handler()}).With("component", "mqtt-broker")
}

// ours says that a connection ended because this side closed it, at a stop or
// when another client took its id over: nothing is wrong then.
func ours(r slog.Record) bool {
	closed := false
	r.Attrs(func(a slog.Attr) bool {
		err, ok := a.Value.Any().(error)
		closed = closed || ok && errors.Is(err, net.ErrClosed)
		return !closed
	})
	return closed
}

func level(l slog.Level) slog.Level {
	if l < slog.LevelWarn {
		return slog.LevelDebug
	}
	return l
}

// Enabled implements slog.Handler.
func (h libraryHandler) Enabled(ctx context.Context, l slog.Level) bool {
	return h.next.Enabled(ctx, level(l))
}

// Handle implements slog.Handler.
func (h libraryHandler) Handle(ctx context.Context, r slog.Record) error {
	if ours(r) {
		r.Level = slog.LevelDebug
	}
	if !h.Enabled(ctx, r.Level) {
		return nil
	}
	out := slog.NewRecord(r.Time, level(r.Level), r.Message, r.PC)
	if out.Message == "" {
		out.Message = "connection ended"
	}
	r.Attrs(func(a slog.Attr) bool {
		if safeAttr(a.Key) {
			out.AddAttrs(a)
		}
		return true
	})
	return h.next.Handle(ctx, out)
}

// WithAttrs implements slog.Handler.
func (h libraryHandler) WithAttrs(attrs []slog.Attr) slog.Handler {
	var safe []slog.Attr
	for _, a := range attrs {
		if safeAttr(a.Key) || a.Key == "component" {
			safe = append(safe, a)
		}
	}
	return libraryHandler{next: h.next.WithAttrs(safe)}
}

// WithGroup implements slog.Handler.
func (h libraryHandler) WithGroup(name string) slog.Handler {
	return libraryHandler{next: h.next.WithGroup(name)}
}
