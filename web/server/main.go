// Command server is Plumb on a computer of one's own: it builds the browser program, then serves the site. It needs nothing but Go and the source.
package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"sync"
	"syscall"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

func main() {
	c, err := configure(os.Args[1:], os.Getenv)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Print(usage)
		return
	case err != nil:
		fmt.Fprintln(os.Stderr, err)
		fmt.Fprintln(os.Stderr, "go run ./web/server -help tells all flags.")
		os.Exit(2)
	}
	if c.version {
		fmt.Printf("plumb %s, %s\n", web.Version(), runtime.Version())
		return
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	do := run
	switch {
	case c.export != "":
		do = export
	case c.command != "":
		do = func(ctx context.Context, c config, out, _ io.Writer) error { return obey(ctx, c, out) }
	}
	if err := do(ctx, c, os.Stdout, os.Stderr); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run serves until ctx is done. The link goes to out, progress to log.
func run(ctx context.Context, c config, out, log io.Writer) error {
	root, err := program.Here()
	if err != nil {
		return err
	}
	// The address is taken before the build, so that a taken one is known at once.
	listener, err := net.Listen("tcp", c.addr)
	if err != nil {
		return fmt.Errorf("server: cannot serve on %s: %w; choose another address with -addr, such as -addr 127.0.0.1:8441 (a port of 0 takes any that is free)", c.addr, err)
	}
	defer listener.Close()
	if c.open {
		fmt.Fprintf(log, "Caution: %s can be reached from other computers, without encryption. Put it behind a proxy that adds HTTPS; browsers refuse full offline use and some features without it.\n", listener.Addr())
	}
	s, shut, err := openStore(ctx, c, log)
	if err != nil {
		return err
	}
	site, err := assemble(ctx, root, log)
	if err == nil {
		debug.FreeOSMemory() // squeezing takes more than serving ever does
		var sweeping sync.WaitGroup
		working, stop := context.WithCancel(ctx)
		sweeping.Go(func() { sweep(working, s, log) })
		err = serve(ctx, listener, mount(site, s, c, log), out, log)
		stop()
		sweeping.Wait()
	}
	return errors.Join(err, shut())
}

// serve answers requests on l until ctx is done, then lets those under way end.
func serve(ctx context.Context, l net.Listener, site http.Handler, out, log io.Writer) error {
	s := &http.Server{
		Handler:           site,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      5 * time.Minute, // the browser program over a slow line
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          quiet(log),
	}
	failed := make(chan error, 1)
	go func() { failed <- s.Serve(l) }()
	fmt.Fprintf(out, "Plumb is at %s\n", link(l.Addr()))
	fmt.Fprintln(log, "Stop it with Ctrl-C.")
	select {
	case err := <-failed:
		return fmt.Errorf("server: %w", err)
	case <-ctx.Done():
	}
	fmt.Fprintln(log, "Stopping.")
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := s.Shutdown(last); err != nil {
		s.Close()
		return fmt.Errorf("server: some answers were cut short: %w", err)
	}
	return nil
}

// quiet is the log of net/http, whose messages name clients, with what an operator needs of it: that the program is at fault.
func quiet(to io.Writer) *log.Logger { return log.New(hush{to}, "", 0) }

type hush struct{ to io.Writer }

func (h hush) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte("panic")) {
		fmt.Fprintln(h.to, "A request failed by a fault of this program.")
	}
	return len(p), nil
}

// link is an address as a browser on this computer takes it.
func link(a net.Addr) string {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return "http://" + a.String() + "/"
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, port) + "/"
}
