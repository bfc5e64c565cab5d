package notify

import (
	"slices"
	"strings"
	"time"

	"github.com/nicholas-fedor/shoutrrr"

	"wickd/model"
)

// Trial is a message that only shows that messages arrive. It rings as an alert
// does that is no emergency.
func Trial(now time.Time, zone *time.Location, site, recipient string) Message {
	title := clip("Test message of wickd at " + site)
	return Message{
		Time: now, Title: title, Priority: model.PriorityMedium, Notices: 1, EveryAddress: true,
		Text: title + "\nNothing is wrong and nothing is to be done. Somebody asked for this on " + now.In(zone).Format("Mon 2 Jan 15:04") +
			" to see that alerts reach " + recipient + ".",
	}
}

// Service names the service of a URL, such as "smtp"; empty: it is none. It is
// no secret, and nothing else of the URL is in it.
func Service(url string) string {
	scheme, _, ok := strings.Cut(strings.ToLower(strings.TrimSpace(url)), ":")
	family, _, _ := strings.Cut(scheme, "+")
	sender, err := shoutrrr.CreateSender()
	if err != nil || !ok || !slices.Contains(sender.ListServices(), family) {
		return ""
	}
	return family
}
