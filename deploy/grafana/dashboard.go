package grafana

//lint:file-ignore SA1019 The library prefers the newer schema (v2), but Grafana before version 13 imports only this one.

import (
	"encoding/json"
	"fmt"

	"github.com/grafana/grafana-foundation-sdk/go/cog"
	"github.com/grafana/grafana-foundation-sdk/go/common"
	"github.com/grafana/grafana-foundation-sdk/go/dashboard"
)

// row is a heading with the panels under it, laid out from left to right.
type row struct {
	title  string
	panels []cog.Builder[dashboard.Panel]
}

// JSON is the content of wickd.json.
func JSON() ([]byte, error) {
	d, err := build()
	if err != nil {
		return nil, fmt.Errorf("build the dashboard: %w", err)
	}
	out, err := json.MarshalIndent(d, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write the dashboard: %w", err)
	}
	return append(out, '\n'), nil
}

func build() (dashboard.Dashboard, error) {
	b := dashboard.NewDashboardBuilder("Wicking bags").
		Uid("wickd-site").
		Description("Water, solution and alerts of a site that wickd watches.").
		Tags([]string{"wickd"}).
		Time("now-7d", "now").
		Timezone(common.TimeZoneBrowser).
		Refresh("1m").
		Tooltip(dashboard.DashboardCursorSyncCrosshair).
		WithVariable(dashboard.NewDatasourceVariableBuilder("source").Label("Prometheus").Type("prometheus")).
		WithVariable(label("bag", "Bag", "wickd_bag_water_content_ratio")).
		WithVariable(label("reservoir", "Reservoir", "wickd_reservoir_volume_liters"))
	for _, r := range []row{needs(), bags(), solution(), sensors(), daemon()} {
		b = b.WithRow(dashboard.NewRowBuilder(r.title))
		for _, p := range r.panels {
			b = b.WithPanel(p)
		}
	}
	d, err := b.Build()
	if err != nil {
		return d, err
	}
	return numbered(d), nil
}

// numbered gives every panel an identity, which links to a panel rest on.
func numbered(d dashboard.Dashboard) dashboard.Dashboard {
	for i, p := range d.Panels {
		id := uint32(i + 1)
		switch {
		case p.Panel != nil:
			p.Panel.Id = &id
		case p.RowPanel != nil:
			p.RowPanel.Id = id
		}
	}
	return d
}

// label is a variable that chooses among the values of a metric's label.
func label(name, title, metric string) *dashboard.QueryVariableBuilder {
	query := fmt.Sprintf("label_values(%s, %s)", metric, name)
	all := "All"
	return dashboard.NewQueryVariableBuilder(name).
		Label(title).
		Datasource(source()).
		Query(dashboard.StringOrMap{String: &query}).
		Refresh(dashboard.VariableRefreshOnTimeRangeChanged).
		Sort(dashboard.VariableSortNaturalAsc).
		Multi(true).IncludeAll(true).AllValue(".+").
		Current(dashboard.VariableOption{
			Text:  dashboard.StringOrArrayOfString{String: &all},
			Value: dashboard.StringOrArrayOfString{ArrayOfString: []string{"$__all"}},
		})
}

func source() common.DataSourceRef {
	kind, uid := "prometheus", "${source}"
	return common.DataSourceRef{Type: &kind, Uid: &uid}
}
