// Package notify tells people of the changes that package alerts found.
//
// It works in two halves. [Plan] is pure: it turns the transitions of one step
// into deliveries, one for each occurrence, kind and recipient, each with a
// [Delivery.Key] that is the same however often the step is run. The daemon
// stores them in its outbox, whose keys are unique, in the transaction that
// stores the step: the intent is recorded before anything is sent.
//
// [Dispatcher] then takes what is due, joins what one recipient is to be told
// at that time into one message, sends it and marks it sent. A crash between
// sending and marking repeats that message once; none is ever lost.
//
// Few messages: what comes within a moment is one message with a count; a
// token bucket per recipient spreads messages out, and what waits is joined to
// the next; above a number of alerts in a window one summary is sent. Urgent
// alerts have a bucket of their own and are not held by quiet hours.
//
// Escalation: a recipient with a time of their own is told of an alert that
// nobody has acknowledged by then, and of its end only if told before. What is
// answered before it goes out is dropped, and that is remembered ([Memory]) until
// the alert is over.
//
// Pictures and buttons: a message carries the picture of its most urgent alert
// where the service takes one, its signed address where it fetches one, and
// buttons where the service shows them ([Links]); the text is whole without.
//
//	mail            the picture under the text; by a mail library, see sendMail
//	signal          the picture beside the text
//	ntfy            the picture's address (Attach), the page's (Click), buttons (Actions)
//	webhook, JSON   the addresses of page and picture
//	every other     the page's address in the text, as in all of them
//
// [Weekly] plans a digest that is also the test that messages arrive, and
// [Dispatcher.Moving] says whether the notifier can be relied on.
//
// Secrets: a recipient's URL is read when it is needed and kept nowhere. An
// error of a send is put in this package's own words ([SendError]) and never
// quotes the library, the URL or the server, since each of them may repeat a
// secret.
//
// Concurrency: Dispatcher.Run has one owner; Dispatcher.Poke may be called from
// any goroutine. Recipients are served at the same time, each by one goroutine
// that ends before the next look at the outbox.
package notify
