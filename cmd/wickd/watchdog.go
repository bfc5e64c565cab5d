package main

import (
	"context"
	"time"

	sd "github.com/coreos/go-systemd/v22/daemon"

	"wickd/cmd/internal/daemon"
)

// watchdog pats the service manager's watchdog while the daemon is healthy, so
// that a stuck one is restarted.
func watchdog(ctx context.Context, d *daemon.Daemon) (stop func()) {
	every, err := sd.SdWatchdogEnabled(false)
	if err != nil || every == 0 {
		return func() {}
	}
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		t := time.NewTicker(every / 3)
		defer t.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-t.C:
				if d.Alive() {
					_, _ = sd.SdNotify(false, sd.SdNotifyWatchdog)
				}
			}
		}
	}()
	return func() {
		cancel()
		<-done
	}
}
