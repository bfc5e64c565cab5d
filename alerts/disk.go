package alerts

import (
	"fmt"
	"time"

	"wickd/model"
)

const (
	// diskHorizon is how far ahead a full disk is told: whoever looks after the
	// site on one day of the week comes by within it.
	diskHorizon = 7 * 24 * time.Hour
	// diskFloor is told whatever the growth, in bytes: below, one update of the
	// system or one large log fills a small board's card.
	diskFloor = 128 << 20
	// diskSlack is how much above the floor counts as room again.
	diskSlack = diskFloor / 4
)

func diskFillingDefinition() Definition {
	return Definition{
		Condition: DiskFilling, Kind: model.KindDaemon, Priority: model.PriorityMedium,
		OnDelay: 10 * time.Minute, OffDelay: time.Hour, Deadband: 1, Unit: "d",
		Reason: "something large that is written and deleted again within minutes fills no disk, and a log that is rotated frees its room once a day",
		Rationale: Rationale{
			Cause:       "the journal, or something else on the machine, fills the disk that the journal is on",
			Consequence: "once it is full, readings are no longer kept and no alert can be trusted",
			Action:      "free some space, or keep fewer days (run --keep)",
			Severity:    Severe,
			Respond:     48 * time.Hour,
		},
		plural: "are about to run out of disk", judge: diskFilling,
	}
}

func diskFilling(sc *scene, d *Definition) []finding {
	return sc.daemon(d, "disk", func(h *model.DaemonHealth, held bool) Verdict {
		if !h.DiskKnown {
			return Verdict{State: Unknown}
		}
		left, filling := h.DiskLasts()
		days := left.Hours() / 24
		low := below(float64(h.DiskFree), diskFloor, diskSlack, held) == Holds
		soon := filling && below(days, diskHorizon.Hours()/24, d.Deadband, held) == Holds
		if !low && !soon {
			return relief(held, "wickd's disk has room again: %s", bytesText(h.DiskFree))
		}
		v := Verdict{State: Holds, Message: model.Message{
			Headline: "wickd's disk is almost full: " + bytesText(h.DiskFree) + " left",
			Why:      "Once it is full, readings are no longer kept and no alert can be trusted.",
			Action:   "Free some space where the journal is, or let it keep fewer days (wickd run --keep).",
		}}
		if soon {
			at := sc.now.Add(left)
			v.Due = &at
			v.Message.Headline = "wickd's disk is full " + sc.until(at) + ": " + bytesText(h.DiskFree) + " left"
			v.Message.Why = fmt.Sprintf("It loses about %s a day. ", bytesText(int64(h.DiskLoss))) + v.Message.Why
		}
		return v
	})
}

// bytesText says a number of bytes as disks are sold: 12.3 GB.
func bytesText(n int64) string {
	switch v := float64(n); {
	case v >= 1e10:
		return fmt.Sprintf("%.0f GB", v/1e9)
	case v >= 1e9:
		return fmt.Sprintf("%.1f GB", v/1e9)
	case v >= 1e7:
		return fmt.Sprintf("%.0f MB", v/1e6)
	}
	return fmt.Sprintf("%.1f MB", max(float64(n), 0)/1e6)
}
