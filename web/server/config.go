package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"strconv"
	"strings"
)

const usage = `Plumb tells people which decisions a screen can carry. This serves it.

	go run ./web/server [flags]

The first start builds the browser program, which takes about half a minute;
later starts use what is kept in the folder .build.

Flags:
	-addr host:port   where to serve (default 127.0.0.1:8440). A port of 0 takes
	                  any that is free. An address that other computers can reach
	                  has to be given here, not in the environment.
	-version          print the version and end
	-help             print this and end

Environment:
	PLUMB_ADDR        as -addr, for an address of this computer alone; -addr wins

Addresses for machines: /healthz answers "live", /version tells in JSON the
version and the SHA-256 of the browser program.
`

// config is what a start depends on.
type config struct {
	addr    string
	open    bool // addr can be reached from other computers
	version bool
}

const home = "127.0.0.1:8440"

// configure reads flags and environment; flags win.
func configure(args []string, env func(string) string) (config, error) {
	var c config
	set := flag.NewFlagSet("server", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.StringVar(&c.addr, "addr", "", "")
	set.BoolVar(&c.version, "version", false, "")
	if err := set.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return config{}, err
		}
		return config{}, fmt.Errorf("server: %w", err)
	}
	if set.NArg() > 0 {
		return config{}, fmt.Errorf("server: %q is not understood; flags only", set.Arg(0))
	}
	given := false
	set.Visit(func(f *flag.Flag) { given = given || f.Name == "addr" })
	from := "-addr"
	if !given {
		c.addr, from = home, "PLUMB_ADDR"
		if e := strings.TrimSpace(env("PLUMB_ADDR")); e != "" {
			c.addr = e
		}
	}
	open, err := reach(c.addr)
	if err != nil {
		return config{}, fmt.Errorf("server: %s: %w", from, err)
	}
	if open && !given {
		return config{}, fmt.Errorf("server: PLUMB_ADDR: other computers can reach %s; if that is meant, say so with -addr %s", c.addr, c.addr)
	}
	c.open = open
	return c, nil
}

// reach tells whether other computers can reach an address. A name other than localhost is taken to be reachable.
func reach(addr string) (bool, error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return false, fmt.Errorf("%q is no host:port, such as %s", addr, home)
	}
	if _, err := strconv.ParseUint(port, 10, 16); err != nil {
		return false, fmt.Errorf("%q: the port is no number from 0 to 65535", addr)
	}
	if host == "localhost" {
		return false, nil
	}
	if strings.ContainsAny(host, " \t/") {
		return false, fmt.Errorf("%q is no host:port, such as %s", addr, home)
	}
	ip := net.ParseIP(host)
	return ip == nil || !ip.IsLoopback(), nil
}
