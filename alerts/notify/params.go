package notify

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"slices"
	"strings"

	"github.com/nicholas-fedor/shoutrrr/pkg/format"
	"github.com/nicholas-fedor/shoutrrr/pkg/types"

	"wickd/model"
)

// pictureName is what a picture is called where it has a name.
const pictureName = "wickd.png"

// params passes what goes beside the text to a service that knows it; the
// others refuse what they do not know.
func params(ctx context.Context, url string, service types.Service, m Message) *types.Params {
	p := types.Params{}
	scheme, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(url)), ":")
	if hasTitle(service) {
		p.SetTitle(clip(m.Title))
	}
	if level := priority(scheme, m.Priority); level != "" {
		p["priority"] = level
	}
	set := func(key, value string) {
		if value != "" {
			p[key] = value
		}
	}
	switch family, _, _ := strings.Cut(scheme, "+"); family {
	case "ntfy":
		set("click", m.Page)
		set("attach", m.Image)
		set("actions", buttons(m.Answers))
	case "signal":
		set("attachments", base64.StdEncoding.EncodeToString(m.drawn(ctx)))
	case "generic":
		set("page", m.Page)
		set("picture", m.Image)
	}
	return &p
}

// buttons are answers in the JSON form of ntfy's action buttons, with which no
// letter of a body can be taken for the end of it. The phone takes the message
// away when the request went well.
func buttons(answers []Answer) string {
	type action struct {
		Action  string            `json:"action"`
		Label   string            `json:"label"`
		URL     string            `json:"url"`
		Method  string            `json:"method"`
		Headers map[string]string `json:"headers"`
		Body    string            `json:"body"`
		Clear   bool              `json:"clear"`
	}
	if len(answers) == 0 {
		return ""
	}
	var all []action
	for _, a := range answers {
		all = append(all, action{"http", a.Label, a.URL, "POST", map[string]string{"Content-Type": a.ContentType}, a.Body, true})
	}
	text, _ := json.Marshal(all) // strings always encode
	return string(text)
}

// hasTitle reports whether a service has a title or subject to set.
func hasTitle(service types.Service) bool {
	resolver := format.NewPropKeyResolver(format.GetServiceConfig(service))
	return slices.ContainsFunc(resolver.QueryFields(), func(key string) bool {
		return strings.EqualFold(key, types.TitleKey)
	})
}

// priority is what the push services call the urgent and the high, so that a
// phone rings for them. Their own default serves for the rest.
func priority(scheme string, p model.Priority) string {
	urgent, high := p == model.PriorityUrgent, p == model.PriorityHigh
	switch {
	case scheme == "ntfy" && urgent:
		return "max"
	case scheme == "ntfy" && high:
		return "high"
	case scheme == "gotify" && urgent:
		return "10"
	case scheme == "gotify" && high:
		return "7"
	case scheme == "pushover" && (urgent || high):
		return "1" // 2 would need a receipt to be fetched
	}
	return ""
}
