// Command wickd watches wicking grow bags: it takes their sensors' readings over
// MQTT, models what each bag drinks and what its wicks lift, and says what is
// wrong, why and what to do. This package only translates: command lines into
// options, errors into words and exit codes.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strconv"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
)

// commands are what wickd can do, one file each.
type commands struct {
	Run       runCommand       `cmd:"" help:"Watch a site: the daemon."`
	Demo      demoCommand      `cmd:"" help:"Watch a simulated Kestrel Yard on an accelerated clock, with nothing to set up."`
	Check     checkCommand     `cmd:"" help:"Check a site file, and say what physics makes of it."`
	Size      sizeCommand      `cmd:"" help:"Size tube, medium, wicks and reservoir before building."`
	Mix       mixCommand       `cmd:"" help:"Say what to add to a reservoir: water, concentrates, acid or base."`
	Calibrate calibrateCommand `cmd:"" help:"Calibrate a probe or a medium from weighings, standards and buffers."`
	Replay    replayCommand    `cmd:"" help:"Feed a recording through the model and write what it finds."`
	Export    exportCommand    `cmd:"" help:"Write what was received as a recording, to standard output."`
	Status    statusCommand    `cmd:"" help:"Show what a running daemon knows."`
	Ack       ackCommand       `cmd:"" help:"Tell a running daemon that you have seen an alert."`
	Shelve    shelveCommand    `cmd:"" help:"Put an alert of a running daemon aside for a while."`
	Notify    notifyCommand    `cmd:"" help:"Try whether messages reach the people of a site."`
	Version   versionCommand   `cmd:"" help:"Say which wickd this is."`
}

// console is where a command reads and writes, so that tests can look.
type console struct {
	out, err io.Writer
	scratch  *scratch
}

// errQuiet ends with exit code 1 after everything was said.
var errQuiet = errors.New("failed")

// errFile ends a run with exit code 2 after every mistake in the site file, or in what
// it names, was said: a service manager need not try it again.
var errFile = errors.New("the site file is wrong")

// usageError is a mistake on the command line.
type usageError struct{ error }

func main() {
	os.Exit(start(os.Args[1:], console{out: os.Stdout, err: os.Stderr, scratch: &scratch{}}))
}

// start parses a command line, does what it says and returns the exit code.
func start(args []string, c console) int {
	ctx, stop := interruptible(c.scratch.clear)
	defer stop()
	return execute(ctx, args, c)
}

func execute(ctx context.Context, args []string, c console) int {
	var cli commands
	left := false
	parser, err := kong.New(&cli,
		kong.Name("wickd"),
		kong.Description("Watches wicking grow bags: what each drinks, when it will be dry, what is wrong and what to do."+
			"\n\nExit codes: 0 done; 1 it failed, or what it was given cannot be used; 2 wrong usage, and where run is given a site file that is wrong or names a token or a certificate that is missing."),
		kong.Writers(c.out, c.err),
		kong.Exit(func(int) { left = true }),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(c),
		kong.UsageOnError(),
	)
	if err != nil {
		fmt.Fprintln(c.err, "wickd:", err)
		return exitFailed
	}
	if slices.Equal(args, []string{"--version"}) {
		args = []string{"version"} // is asked for either way
	}
	parsed, err := parser.Parse(negatives(args))
	switch {
	case left:
		return exitDone // --help has been shown
	case errors.Is(err, syscall.EPIPE):
		return exitFailed // and is read no further
	case err != nil:
		return refuse(c, whatThereIs(parser, args, err))
	}
	err = parsed.Run()
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &usage):
		return refuse(c, err)
	case errors.Is(err, errFile):
		return exitUsage
	case errors.Is(err, errQuiet), errors.Is(err, syscall.EPIPE), errors.Is(context.Cause(ctx), syscall.EPIPE):
		return exitFailed
	case errors.Is(err, context.Canceled) && ctx.Err() != nil:
		err = errors.New("stopped before it was done")
	}
	fmt.Fprintln(c.err, "wickd:", err)
	return exitFailed
}

// whatThereIs adds to a mistake the commands of the place where it was made.
func whatThereIs(parser *kong.Kong, args []string, err error) error {
	var mistake *kong.ParseError
	if !errors.As(err, &mistake) {
		return err
	}
	at := mistake.Context.Selected()
	if at == nil {
		at = parser.Model.Node
	}
	var names []string
	for _, child := range at.Children {
		names = append(names, child.Name)
	}
	switch {
	case len(names) == 0:
		return asked(at, err)
	case len(args) == 0 || args[len(args)-1] == at.Name:
		return fmt.Errorf("name a command of %s: %s", at.FullPath(), strings.Join(names, ", "))
	}
	return fmt.Errorf("%w; the commands of %s are %s", err, at.FullPath(), strings.Join(names, ", "))
}

// asked adds to the mistake of what is missing on a command line how it is written.
func asked(at *kong.Node, err error) error {
	for _, p := range at.Positional {
		if err.Error() == "expected "+strconv.Quote(p.Summary()) {
			return fmt.Errorf("%w: %s Write %s %s", err, p.Help, at.FullPath(), p.Summary())
		}
	}
	return err
}

func refuse(c console, err error) int {
	fmt.Fprintln(c.err, "wickd:", err)
	fmt.Fprintln(c.err, "Try: wickd --help, or wickd COMMAND --help")
	return exitUsage
}

// interruptible ends at the first Ctrl-C or SIGTERM, and when nobody reads on
// what is printed; a second one ends the process at once, after last has tidied
// up.
func interruptible(last func()) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancelCause(context.Background())
	signals := make(chan os.Signal, 2)
	done := make(chan struct{})
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGPIPE)
	go func() {
		for {
			var s os.Signal
			select {
			case <-done:
				return
			case s = <-signals:
			}
			if ctx.Err() != nil && s != syscall.SIGPIPE {
				last()
				os.Exit(exitFailed)
			}
			if s == syscall.SIGPIPE {
				cancel(syscall.EPIPE)
			}
			cancel(nil)
		}
	}()
	return ctx, func() {
		signal.Stop(signals)
		close(done)
		cancel(nil)
	}
}
