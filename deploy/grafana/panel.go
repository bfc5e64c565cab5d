package grafana

import (
	"github.com/grafana/grafana-foundation-sdk/go/cog"
	"github.com/grafana/grafana-foundation-sdk/go/cog/variants"
	"github.com/grafana/grafana-foundation-sdk/go/common"
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
	"github.com/grafana/grafana-foundation-sdk/go/prometheus"
	"github.com/grafana/grafana-foundation-sdk/go/stat"
	"github.com/grafana/grafana-foundation-sdk/go/table"
	"github.com/grafana/grafana-foundation-sdk/go/timeseries"
)

// Colours by Okabe and Ito (2008), "Color Universal Design".
const (
	blue       = "#0072B2"
	sky        = "#56B4E9"
	green      = "#009E73"
	orange     = "#E69F00"
	vermillion = "#D55E00"
	purple     = "#CC79A7"
	grey       = "#7F7F7F"
)

// Heights in Grafana's grid of 24 columns.
const (
	statHeight  = 4
	tableHeight = 7
	graphHeight = 9
)

func query(expr, legend string) *prometheus.DataqueryBuilder {
	return prometheus.NewDataqueryBuilder().Datasource(source()).Expr(expr).LegendFormat(legend).Range()
}

// now is a query for the newest value only, as rows of a table.
func now(expr string) *prometheus.DataqueryBuilder {
	return prometheus.NewDataqueryBuilder().Datasource(source()).Expr(expr).
		Format(prometheus.PromQueryFormatTable).Instant()
}

// lettered gives each query of a panel its letter, as overrides and
// transformations know it by.
func lettered(queries []*prometheus.DataqueryBuilder) []cog.Builder[variants.Dataquery] {
	out := make([]cog.Builder[variants.Dataquery], len(queries))
	for i, q := range queries {
		out[i] = q.RefId(string(rune('A' + i)))
	}
	return out
}

func fixed(colour string) *dashboard.FieldColorBuilder {
	return dashboard.NewFieldColorBuilder().Mode(dashboard.FieldColorModeIdFixed).FixedColor(colour)
}

func shades(colour string) *dashboard.FieldColorBuilder {
	return dashboard.NewFieldColorBuilder().Mode(dashboard.FieldColorModeIdShades).FixedColor(colour)
}

// figure is one number in large type. warn is where it changes its colour;
// below says that it does so below that value and not above.
func figure(title, help, expr, unit string, warn float64, below bool) *stat.PanelBuilder {
	base, beyond := sky, vermillion
	if below {
		base, beyond = vermillion, sky
	}
	return stat.NewPanelBuilder().
		Title(title).Description(help).
		Datasource(source()).
		Span(6).Height(statHeight).
		Unit(unit).Decimals(0).NoValue("none").
		GraphMode(common.BigValueGraphModeNone).
		ColorMode(common.BigValueColorModeValue).
		ReduceOptions(common.NewReduceDataOptionsBuilder().Calcs([]string{"lastNotNull"})).
		Thresholds(dashboard.NewThresholdsConfigBuilder().Mode(dashboard.ThresholdsModeAbsolute).Steps([]dashboard.Threshold{
			{Color: base}, {Color: beyond, Value: &warn},
		})).
		ColorScheme(dashboard.NewFieldColorBuilder().Mode(dashboard.FieldColorModeIdThresholds)).
		WithTarget(query(expr, title).RefId("A"))
}

func graph(title, help, unit string, width uint32, queries ...*prometheus.DataqueryBuilder) *timeseries.PanelBuilder {
	return timeseries.NewPanelBuilder().
		Title(title).Description(help).
		Datasource(source()).
		Span(width).Height(graphHeight).
		Unit(unit).
		LineWidth(1.5).FillOpacity(0).
		ShowPoints(common.VisibilityModeNever).
		Legend(common.NewVizLegendOptionsBuilder().
			ShowLegend(true).
			DisplayMode(common.LegendDisplayModeList).
			Placement(common.LegendPlacementBottom)).
		Tooltip(common.NewVizTooltipOptionsBuilder().Mode(common.TooltipDisplayModeMulti).Sort(common.SortOrderAscending)).
		Targets(lettered(queries))
}

// list is a table of the newest values; hidden columns are left out and the
// others get the names that people read.
func list(title, help string, width uint32, hidden []string, names map[string]string, queries ...*prometheus.DataqueryBuilder) *table.PanelBuilder {
	exclude := map[string]bool{"Time": true, "__name__": true, "instance": true, "job": true}
	for _, h := range hidden {
		exclude[h] = true
	}
	return table.NewPanelBuilder().
		Title(title).Description(help).
		Datasource(source()).
		Span(width).Height(tableHeight).
		NoValue("none").
		Targets(lettered(queries)).
		WithTransformation(dashboard.DataTransformerConfig{Id: "organize", Options: map[string]any{
			"excludeByName": exclude, "renameByName": names,
		}})
}

// dashed marks a series that is a limit or a forecast and not an estimate.
func dashed(colour string) []dashboard.DynamicConfigValue {
	return []dashboard.DynamicConfigValue{
		{Id: "color", Value: map[string]any{"mode": "fixed", "fixedColor": colour}},
		{Id: "custom.lineStyle", Value: map[string]any{"fill": "dash", "dash": []int{8, 6}}},
	}
}

func solid(colour string) []dashboard.DynamicConfigValue {
	return []dashboard.DynamicConfigValue{{Id: "color", Value: map[string]any{"mode": "fixed", "fixedColor": colour}}}
}
