package daemon

import (
	"wickd/alerts/notify"
	"wickd/cmd/internal/expose"
)

// undelivered are those whom messages do not reach, as the outbox has it: a
// failure outlasts a restart there. That nobody can be told does not make wickd
// unready: readings are taken and alerts kept as before, and a restart would
// mend nothing. After an hour of it the heartbeat stops, so that somebody else
// notices.
func (d *Daemon) undelivered() []expose.Undelivered {
	if d.manager != nil {
		since, waiting, err := d.manager.Failing()
		if err == nil {
			return nil
		}
		return []expose.Undelivered{{Recipient: managerName, Since: since, Waiting: waiting, Reason: managerReason(err), Why: err.Error()}}
	}
	owing := d.owing.Load()
	if owing == nil {
		return nil
	}
	var all []expose.Undelivered
	for _, o := range *owing {
		if o.Failed > 0 {
			all = append(all, expose.Undelivered{
				Recipient: o.Recipient, Since: o.Since, Waiting: int(o.Messages), Reason: o.Reason, Why: notify.Reason(o.Reason).Hint(),
			})
		}
	}
	return all
}
