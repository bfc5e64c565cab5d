package mqtt

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
)

// maxString is the longest UTF-8 encoded string of the protocol, bytes
// (MQTT 3.1.1 §1.5.3).
const maxString = 65535

// CheckTopic says what is wrong with a topic name to publish to
// (MQTT 3.1.1 §4.7.3), or nil.
func CheckTopic(name string) error {
	if err := checkString(name); err != nil {
		return fmt.Errorf("topic %q: %w", clip(name), err)
	}
	if strings.ContainsAny(name, "+#") { // [MQTT-3.3.2-2]
		return fmt.Errorf("topic %q: a name has no wildcard + or #", clip(name))
	}
	return nil
}

// CheckFilter says what is wrong with a topic filter to subscribe to
// (MQTT 3.1.1 §4.7.1), or nil.
func CheckFilter(filter string) error {
	if err := checkString(filter); err != nil {
		return fmt.Errorf("topic %q: %w", clip(filter), err)
	}
	levels := strings.Split(filter, "/")
	for i, level := range levels {
		switch {
		case level == "#" && i < len(levels)-1: // [MQTT-4.7.1-2]
			return fmt.Errorf("topic %q: # must be the last level", clip(filter))
		case len(level) > 1 && strings.ContainsAny(level, "+#"): // [MQTT-4.7.1-3]
			return fmt.Errorf("topic %q: a wildcard must be a whole level, for example bags/+/moisture", clip(filter))
		}
	}
	return nil
}

// checkClientID is stricter than the protocol: the id becomes a level of the
// status topic, and brokers refuse ids with wildcards in their access rules.
func checkClientID(id string) error {
	if id == "" || len(id) > 64 {
		return fmt.Errorf("client id %q: needs 1 to 64 characters, for example wickd", clip(id))
	}
	for _, r := range id {
		ascii := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9'
		if !ascii && !strings.ContainsRune("-_.", r) {
			return fmt.Errorf("client id %q: only letters, digits, - _ and ., for example wickd-annexe", clip(id))
		}
	}
	return nil
}

func checkString(s string) error {
	switch {
	case s == "":
		return errors.New("is empty")
	case len(s) > maxString:
		return fmt.Errorf("is %d bytes long, at most %d", len(s), maxString)
	case !utf8.ValidString(s):
		return errors.New("is not UTF-8")
	case strings.ContainsRune(s, 0): // [MQTT-1.5.3-2]
		return errors.New("contains U+0000")
	}
	return nil
}

// clip keeps an error line readable when its subject is not.
func clip(s string) string {
	const most = 120
	if len(s) <= most {
		return s
	}
	return s[:most] + "…"
}
