// Command findslip checks, normalises and converts find reports.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/findslip/findslip/pkg/pipeline"
)

func main() {
	os.Exit(process())
}

// patience is how long work that was told to stop may take to tidy up.
const patience = 5 * time.Second

// process runs the command as a process: a signal stops it, and a second one, or no end in good
// time, ends it at once. Either way nothing is left half written.
func process() int {
	signal.Ignore(syscall.SIGPIPE) // a reader that has gone is an error of writing, and is told
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	p := &program{in: os.Stdin, out: os.Stdout, err: os.Stderr, unfinished: new(pipeline.Unfinished)}
	if os.Getenv("GOGC") == "" {
		p.pace = keepPace(gcRoom)
	}
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	go func() {
		<-signals
		cancel()
		select {
		case <-signals:
		case <-time.After(patience):
		}
		p.unfinished.Remove()
		fmt.Fprintln(os.Stderr, "findslip: stopped; nothing was left half written")
		os.Exit(exitFailed)
	}()
	return p.run(ctx, os.Args[1:])
}
