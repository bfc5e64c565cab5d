package grafana

import (
	"github.com/grafana/grafana-foundation-sdk/go/cog"
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
)

func sensors() row {
	return row{"Sensors", []cog.Builder[dashboard.Panel]{
		list("Age of the last good reading", "The oldest first.", 12, nil,
			map[string]string{"sensor": "Sensor", "Value": "Age"},
			now(`sort_desc(time() - wickd_sensor_last_reading_timestamp_seconds)`)).
			Height(graphHeight).Unit("s"),
		graph("Readings not used", "By sensor and reason.", "none", 12,
			query(`sum by (sensor, reason) (increase(wickd_sensor_refused_readings_total[1h])) > 0`, "{{sensor}} {{reason}}")).
			AxisLabel("in an hour").ColorScheme(shades(orange)),
	}}
}

func daemon() row {
	return row{"wickd itself", []cog.Builder[dashboard.Panel]{
		graph("Messages", "Received, refused and delivered twice.", "none", 8,
			query(`rate(wickd_messages_received_total[$__rate_interval]) * 60`, "received"),
			query(`sum(rate(wickd_messages_refused_total[$__rate_interval])) * 60`, "refused"),
			query(`rate(wickd_messages_duplicate_total[$__rate_interval]) * 60`, "twice")).
			AxisLabel("in a minute").
			OverrideByName("received", solid(blue)).
			OverrideByName("refused", dashed(vermillion)).
			OverrideByName("twice", dashed(grey)),
		graph("Journal commit", "How long 95 in 100 commits take at most.", "s", 8,
			query(`histogram_quantile(0.95, sum by (le) (rate(wickd_journal_commit_duration_seconds_bucket[$__rate_interval])))`, "95 %")).
			ColorScheme(fixed(blue)),
		graph("Forwarding behind", "Age of the oldest reading that is not yet in the time-series database.", "s", 8,
			query(`wickd_forward_behind_seconds`, "behind")).
			AxisSoftMin(0).ColorScheme(fixed(orange)),
		graph("Notifications", "Handed over, and failed attempts by reason.", "none", 8,
			query(`sum by (channel) (increase(wickd_notifications_sent_total[1h]))`, "{{channel}} sent"),
			query(`sum by (channel, reason) (increase(wickd_notifications_failed_total[1h]))`, "{{channel}} failed: {{reason}}")).
			AxisLabel("in an hour").ColorScheme(shades(blue)).
			OverrideByRegexp("/failed/", dashed(vermillion)),
		graph("Estimates behind", "Time since the estimates were last made; a minute is normal.", "s", 8,
			query(`time() - wickd_snapshot_timestamp_seconds`, "behind")).
			AxisSoftMin(0).ColorScheme(fixed(purple)),
		list("Running", "Build and state.", 8, []string{"Value", "goversion"},
			map[string]string{"version": "Version", "revision": "Revision"},
			now(`wickd_build_info`)).
			Height(graphHeight),
	}}
}
