package mqtt_test

import (
	"testing"

	"wickd/ingest/rig"
)

const shippedConfig = "../../deploy/mosquitto/wickd.conf"

// startMosquitto starts the broker with the shipped configuration, but for the
// replacements; its figures about itself come every second.
func startMosquitto(t *testing.T, replace ...string) *rig.Mosquitto {
	t.Helper()
	return rig.StartMosquitto(t, shippedConfig, append([]string{"\nsys_interval 10\n", "\nsys_interval 1\n"}, replace...)...)
}
