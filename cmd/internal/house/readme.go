package house

import (
	"fmt"
	"regexp"
	"strings"
)

// Line is a command line in a text, with the command of wickd that it uses.
type Line struct {
	Number  int
	Command string // empty: wickd alone
}

// commandLine takes a prompt, a path to the binary or go run, and the command.
var commandLine = regexp.MustCompile(`^\s*(?:[$#]\s+)?(?:sudo\s+)?(?:(?:\./|/usr/bin/)?wickd|go run \./cmd/wickd)(?:\s+([^\s\\]+)|\s*\\?$)`)

// CommandLines finds the command lines of wickd in the fenced blocks of a
// Markdown text.
func CommandLines(markdown string) []Line {
	var found []Line
	inside := false
	for i, line := range strings.Split(markdown, "\n") {
		if fence := strings.TrimSpace(line); strings.HasPrefix(fence, "```") || strings.HasPrefix(fence, "~~~") {
			inside = !inside
			continue
		}
		if m := commandLine.FindStringSubmatch(line); inside && m != nil {
			command := m[1]
			if strings.HasPrefix(command, "-") {
				command = ""
			}
			found = append(found, Line{Number: i + 1, Command: command})
		}
	}
	return found
}

// Unknown finds the lines whose command does not exist.
func Unknown(file string, lines []Line, exists func(command string) bool) []Finding {
	var found []Finding
	for _, l := range lines {
		if l.Command != "" && !exists(l.Command) {
			found = append(found, Finding{Where: fmt.Sprintf("%s:%d", file, l.Number), What: fmt.Sprintf("wickd has no command %q", l.Command)})
		}
	}
	return found
}
