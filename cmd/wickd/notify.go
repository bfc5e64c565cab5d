package main

import (
	"context"

	sd "github.com/coreos/go-systemd/v22/daemon"

	"wickd/cmd/internal/daemon"
)

// notifying runs a daemon and keeps the service manager told, where there is
// one.
func notifying(ctx context.Context, d *daemon.Daemon) error {
	_, _ = sd.SdNotify(false, sd.SdNotifyReady)
	stopWatchdog := watchdog(ctx, d)
	defer stopWatchdog()
	err := d.Run(ctx)
	_, _ = sd.SdNotify(false, sd.SdNotifyStopping)
	return err
}
