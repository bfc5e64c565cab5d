// Package daemon is where everything meets: it wires intake, journal, core,
// alerts, notifier, forwarder and web into one process with an ordered
// beginning and an ordered end. It is the only package that imports them all,
// and it decides nothing about bags.
//
// One goroutine, the pipeline's, drives the [Core]: messages and the clock
// reach it in one order, which the journal keeps, so that a replay gives the
// same estimates and the same alerts. What the core finds is committed —
// checkpoint, transitions, deliveries, estimates — in one transaction.
//
// Lifecycle: New opens the journal and restores the last state, Run blocks,
// and its end is a named list of steps with a deadline: stop listening, drain,
// commit, last checkpoint, notifier and forwarder, journal, web.
package daemon
