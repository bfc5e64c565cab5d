package grafana

import (
	"github.com/grafana/grafana-foundation-sdk/go/cog"
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
)

// Selections that the variables at the top of the dashboard make.
const (
	chosenBags       = `{bag=~"$bag"}`
	chosenReservoirs = `{reservoir=~"$reservoir"}`
	median           = `{reservoir=~"$reservoir",probability="0.5"}`
	openAlerts       = `wickd_alert_active{state!~"shelved|suppressed|out-of-service"}`
)

const day, hour = 86400, 3600

func needs() row {
	return row{"Does anything need somebody", []cog.Builder[dashboard.Panel]{
		figure("Open alerts", "Alerts that are neither shelved nor suppressed.",
			`count(`+openAlerts+`) or vector(0)`, "none", 1, false),
		figure("First bag dry in", "Median forecast; none: not within the horizon.",
			`min(wickd_bag_dry_timestamp_seconds{probability="0.5"}) - time()`, "s", 12*hour, true),
		figure("First reservoir empty in", "Median forecast; none: not within the horizon.",
			`min(wickd_reservoir_empty_timestamp_seconds{probability="0.5"}) - time()`, "s", 2*day, true),
		figure("Sensors with something wrong", "Silent, stuck or not believable.",
			`count((wickd_sensor_silent == 1) or (wickd_sensor_stuck == 1) or (wickd_sensor_implausible == 1)) or vector(0)`, "none", 1, false),
		list("Alerts", "Everything that is not back to normal.", 24, []string{"Value"},
			map[string]string{"condition": "What", "subject": "Where", "priority": "Priority", "state": "State"},
			now(`wickd_alert_active`)),
	}}
}

func bags() row {
	return row{"Bags", []cog.Builder[dashboard.Panel]{
		graph("Water content", "Mean of each bag; dashed: the dry limit.", "percentunit", 16,
			query(`wickd_bag_water_content_ratio`+chosenBags, "{{bag}}"),
			query(`max(wickd_bag_dry_limit_ratio`+chosenBags+`)`, "dry limit")).
			ColorScheme(shades(blue)).
			OverrideByName("dry limit", dashed(vermillion)),
		list("Dry forecast", "When each bag is dry as likely as not.", 8, []string{"channel", "probability"},
			map[string]string{"bag": "Bag", "Value": "Dry in"},
			now(`sort(wickd_bag_dry_timestamp_seconds{bag=~"$bag",probability="0.5"} - time())`)).
			Height(graphHeight).Unit("s"),
		graph("Drink", "What the plants took, mean of the last 24 h.", "litre", 8,
			query(`wickd_bag_uptake_liters_per_second`+chosenBags+` * 86400`, "{{bag}}")).
			AxisLabel("litres per day").ColorScheme(shades(green)),
		graph("Wick health", "What the wicks still lift against as built.", "percentunit", 8,
			query(`wickd_bag_wick_health_ratio`+chosenBags, "{{bag}}")).
			AxisSoftMin(0).AxisSoftMax(1).ColorScheme(shades(purple)),
		graph("Supply over demand", "Wick supply at the dry limit, times health, against what the plants would take; below 1 the wicks cannot keep up.", "none", 8,
			query(`wickd_bag_supply_limit_liters_per_second`+chosenBags+` * wickd_bag_wick_health_ratio`+chosenBags+
				` / (wickd_bag_demand_liters_per_second`+chosenBags+` > 0)`, "{{bag}}")).
			AxisSoftMin(0).ColorScheme(shades(orange)),
		graph("Salt at the roots", "Estimated electrical conductivity of the water in each bag at 25 °C; dashed: the least that a crop bears.", "none", 16,
			query(`wickd_bag_salt_electrical_conductivity_siemens_per_meter`+chosenBags+` * 10`, "{{bag}}"),
			query(`min(wickd_bag_salt_limit_siemens_per_meter`+chosenBags+`) * 10`, "limit")).
			AxisLabel("mS/cm").Decimals(1).ColorScheme(shades(orange)).
			OverrideByName("limit", dashed(vermillion)),
		graph("Root temperature", "Of bags with a thermometer of their own.", "celsius", 8,
			query(`wickd_bag_root_temperature_celsius`+chosenBags, "{{bag}}")).
			Decimals(1).ColorScheme(shades(vermillion)),
	}}
}

func solution() row {
	return row{"Reservoirs and solution", []cog.Builder[dashboard.Panel]{
		graph("Left", "Solution in the reservoir.", "litre", 8,
			query(`wickd_reservoir_volume_liters`+chosenReservoirs, "{{reservoir}}")).
			AxisSoftMin(0).ColorScheme(shades(blue)),
		graph("Draw", "All that leaves; dashed: what neither bags nor air explain.", "litre", 8,
			query(`wickd_reservoir_draw_liters_per_second`+chosenReservoirs+` * 86400`, "{{reservoir}}"),
			query(`wickd_reservoir_unexplained_draw_liters_per_second`+chosenReservoirs+` * 86400`, "{{reservoir}} unexplained")).
			AxisLabel("litres per day").ColorScheme(shades(green)).
			OverrideByRegexp("/unexplained/", dashed(vermillion)),
		graph("Empty in", "Forecast: early (5 %), middling and late (95 %).", "s", 8,
			query(`wickd_reservoir_empty_timestamp_seconds{reservoir=~"$reservoir",probability="0.05"} - time()`, "{{reservoir}} early"),
			query(`wickd_reservoir_empty_timestamp_seconds`+median+` - time()`, "{{reservoir}} middling"),
			query(`wickd_reservoir_empty_timestamp_seconds{reservoir=~"$reservoir",probability="0.95"} - time()`, "{{reservoir}} late")).
			AxisSoftMin(0).ColorScheme(fixed(grey)).
			OverrideByRegexp("/middling/", solid(blue)).
			OverrideByRegexp("/early|late/", dashed(sky)),
		graph("EC", "Electrical conductivity at 25 °C.", "none", 8,
			query(`wickd_reservoir_electrical_conductivity_siemens_per_meter`+chosenReservoirs+` * 10`, "{{reservoir}}")).
			AxisLabel("mS/cm").Decimals(2).ColorScheme(shades(orange)),
		graph("pH", "Of the solution.", "pH", 8,
			query(`wickd_reservoir_ph`+chosenReservoirs, "{{reservoir}}")).
			Decimals(1).ColorScheme(shades(purple)),
		graph("Temperature", "Of the solution.", "celsius", 8,
			query(`wickd_reservoir_temperature_celsius`+chosenReservoirs, "{{reservoir}}")).
			Decimals(1).ColorScheme(shades(vermillion)),
	}}
}
