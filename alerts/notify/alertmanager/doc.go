// Package alertmanager hands the alerts that stand to a Prometheus Alertmanager,
// which then groups, routes and repeats them and tells people.
//
// It is the way for a place that has an Alertmanager already, in place of the
// recipients of package notify: an alert goes out one way. What wickd does for
// its recipients (escalation, quiet hours, pictures, buttons, the digest) is then
// the Alertmanager's to do or to leave.
//
// An Alertmanager is told what stands, not what happened: the [Pusher] posts all
// alerts that stand every minute, each with an end four posts ahead, as
// Prometheus does. So nothing need be kept on disk: after an outage of either
// side the next post says how things are, and what wickd no longer says ends by
// itself. What is over is posted with its end until the server has taken that
// once.
//
// An alert that comes and goes while the server is down would never be told: the
// server drops what is over when it first hears of it. So it is told afterwards
// as an alert of its own, with the label over="true" and the priority low, that
// stands for a quarter of an hour and says when it began and that it is over.
// What the server has heard is kept between runs for that ([Memory]).
//
// The interface is version 2 of its API, which its own documentation gives as an
// OpenAPI file; of it, POST /api/v2/alerts alone is used. Its generated client
// would bring three dozen modules for this one request.
//
// Labels say which alert it is and never change while it stands: alertname (the
// condition), site, subject, severity (the priority) and source (wickd). They
// hold no label delivery, by which the shipped rules of Prometheus mark what
// wickd has told already. Annotations are the words of the message.
//
// Secrets: the password is read for each post and kept nowhere; errors are in
// words of this package and quote no answer.
//
// Concurrency: Run has one owner; Poke and Moving may be called from any
// goroutine. Options.Standing is called from Run's goroutine.
package alertmanager
