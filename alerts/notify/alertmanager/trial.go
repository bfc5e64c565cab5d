package alertmanager

import (
	"context"

	"wickd/model"
)

// Try hands the server an alert that only shows that alerts arrive. It ends by
// itself within a quarter of an hour.
func (p *Pusher) Try(ctx context.Context) error {
	now := p.o.Clock().UTC()
	return p.post(ctx, []posted{{
		Labels: map[string]string{
			"alertname": "wickd-test", "site": p.o.Site, "severity": string(model.PriorityLow), "source": "wickd",
		},
		Annotations: map[string]string{
			"summary":     "Test message of wickd at " + p.o.Site,
			"description": "Nothing is wrong and nothing is to be done. Somebody asked for this to see that alerts reach people.",
		},
		StartsAt: now, EndsAt: now.Add(tells),
	}})
}
