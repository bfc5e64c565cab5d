// Package rig starts the programs that tests talk to: the real ones, with the
// shipped configuration. Nothing of it is part of wickd itself.
//
// A program that is not installed skips the test with a reason; with CI=true
// it fails it, so that a test against the real thing cannot fade away unseen.
package rig
