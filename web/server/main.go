// Command server is Plumb on a computer of one's own: it builds the browser program, then serves the site. It needs nothing but Go and the source.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
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
)

func main() {
	c, err := configure(os.Args[1:], os.Getenv)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Print(usage(called()))
		return
	case err != nil:
		fmt.Fprintln(os.Stderr, err)
		fmt.Fprintln(os.Stderr, called()+" -help tells all flags.")
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
		do = func(ctx context.Context, c config, out io.Writer, _ *slog.Logger) error { return obey(ctx, c, out) }
	}
	if err := do(ctx, c, os.Stdout, journal(os.Stderr, c.json)); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run serves until ctx is done. Links go to out.
func run(ctx context.Context, c config, out io.Writer, log *slog.Logger) error {
	build, err := source()
	if err != nil {
		return err
	}
	// Addresses are taken before the build, so that a taken one is known at once.
	listener, err := listen(c.addr, "addr", "127.0.0.1:8441")
	if err != nil {
		return err
	}
	defer listener.Close()
	var counts net.Listener
	if c.metrics != "" {
		if counts, err = listen(c.metrics, "metrics", "127.0.0.1:8442"); err != nil {
			return err
		}
		defer counts.Close()
	}
	log.Info("starting", "version", web.Version(), "go", runtime.Version(), "metrics", counts != nil)
	if c.open {
		log.Warn("other computers can reach this without encryption; put it behind a proxy that adds HTTPS, because browsers refuse some features without it")
	}
	if c.bare {
		log.Warn("other computers can reach the metrics; let a firewall keep the public out")
	}
	s, shut, err := openStore(ctx, c, log)
	if err != nil {
		return err
	}
	site, err := assemble(ctx, build, log)
	if err == nil {
		debug.FreeOSMemory() // squeezing takes more than serving ever does
		w := newWatch(log, c.requests, c.limit, time.Now())
		var beside sync.WaitGroup
		working, stop := context.WithCancel(ctx)
		beside.Go(func() { sweep(working, s, w) })
		if counts != nil {
			beside.Go(func() {
				if err := serve(working, counts, w.told(s), log); err != nil {
					log.Error("metrics are told no more", "error", err)
				}
			})
		}
		fmt.Fprintf(out, "Plumb is at %s\n", link(listener.Addr()))
		if counts != nil {
			fmt.Fprintf(out, "Metrics are at %smetrics\n", link(counts.Addr()))
		}
		log.Info("serving; Ctrl-C or SIGTERM stops it")
		err = serve(ctx, listener, w.over(mount(site, s, c, w)), log)
		stop()
		beside.Wait()
	}
	err = errors.Join(err, shut())
	log.Info("stopped", "clean", err == nil)
	return err
}

// listen takes an address that a flag names.
func listen(addr, name, other string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("server: cannot serve on %s: %w; choose another address with -%s, such as -%s %s (a port of 0 takes any that is free)", addr, err, name, name, other)
	}
	return l, nil
}

// grace is how long requests under way may take when the program is stopped. A chunk that is cut short is sent again by its sender.
const grace = 5 * time.Second

// serve answers requests on l until ctx is done, then lets those under way end.
func serve(ctx context.Context, l net.Listener, site http.Handler, log *slog.Logger) error {
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
	select {
	case err := <-failed:
		return fmt.Errorf("server: %w", err)
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer cancel()
	if err := s.Shutdown(last); err != nil {
		s.Close()
		return fmt.Errorf("server: some answers were cut short: %w", err)
	}
	return nil
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
