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

// usage is what -help prints, with the words with which the program is started.
func usage(called string) string { return strings.ReplaceAll(help, "PLUMB ", called+" ") }

// help has PLUMB where the program is named.
const help = `Plumb tells people which decisions a screen can carry. This serves it.

	PLUMB [flags]
	PLUMB [flags] backup FILE | restore FILE | purge | ready
	PLUMB verify FILE [more files]
	PLUMB -export DIR

A released program carries the browser programs. In a clone, the first start
builds them, which takes about a minute; later starts use what is kept in the
folder .build.

Flags, each with the variable of the environment that says the same; the flag
wins:
	-addr host:port   where to serve (default 127.0.0.1:8440). A port of 0 takes
	 PLUMB_ADDR       any that is free. An address that other computers can reach
	                  has to be given here, not in the environment.
	-data FOLDER      keep the mailbox in this folder, which is made if need be.
	 PLUMB_DATA       Without it letters are kept in memory and are gone when the
	                  server stops; the commands below then take the folder .data.
	-limit SIZE       the most that all boxes may hold, such as 500M or 10G
	 PLUMB_LIMIT      (default 10G; 256M in memory)
	-rate N           requests a second of each client that are served for long
	 PLUMB_RATE       (default 40)
	-proxy            requests come through a proxy, which puts the client's
	 PLUMB_PROXY      address last in X-Forwarded-For; in the environment: true
	-metrics ADDR     tell what the server did, for Prometheus, at /metrics of
	 PLUMB_METRICS    this host:port, which should be one that the public cannot
	                  reach, such as 127.0.0.1:8441 (default: nowhere). One that
	                  other computers can reach has to be given here.
	-log text|json    the form of the log, which goes to the standard error
	 PLUMB_LOG        (default text). It names no client, no box and no key.
	-requests         log each request too: which sort it was, how it ended and
	 PLUMB_REQUESTS   how long it took; in the environment: true. The times in
	                  such a log tell when somebody was here.

Flags that make the program do something else and end:
	-export DIR       write the whole site, but for the mailbox, into a folder that
	                  is empty or not there yet. Any host of plain files can serve
	                  it at the root of an address; requests for a check then
	                  travel inside their links.
	-version          print the version
	-help             print this

Commands; backup and purge may be used while the server runs:
	backup FILE       write what the mailbox holds to a new file
	restore FILE      make a mailbox of a backup, in a folder that holds none
	purge             remove what has expired now, and shrink the database
	ready             ask the server at -addr whether it is ready; the exit status
	                  is 0 only if it is
	verify FILE [...] tell what the record of a decision in FILE says and whether it
	                  stands, and whether more files belong to it: pictures as sent
	                  or as they were before, the report, the screen model, other
	                  records. It needs no mailbox and no network. The exit status
	                  is 0 only if all of it stands.

Addresses for machines: /healthz answers "live" while the program runs, /readyz
"ready" while its mailbox answers, and 503 while it does not. /version tells in
JSON the version, the SHA-256 of the browser programs and the release of Go that
builds the same.
`

// config is what a start depends on.
type config struct {
	addr     string
	open     bool   // addr can be reached from other computers
	data     string // folder of the mailbox; "" for a mailbox in memory
	limit    int64  // bytes in all boxes
	rate     int    // requests a second of a client
	proxy    bool
	metrics  string   // where what was counted is told; "" for nowhere
	bare     bool     // metrics can be reached from other computers
	json     bool     // the form of the log
	requests bool     // each request is logged
	version  bool     // tell the version instead of serving
	export   string   // a folder to write the site to instead of serving it; "" for none
	command  string   // "", backup, restore, purge, ready or verify
	file     string   // of backup, restore and verify
	beside   []string // files that verify compares with it
}

const (
	home  = "127.0.0.1:8440"
	usual = ".data" // the folder of commands that are told no other
)

// settings reads what flags and environment say.
type settings struct {
	flags *flag.FlagSet
	given map[string]bool // flags that were
	env   func(string) string
}

// of returns what is set under a flag's name, and the name of the flag or of the variable that says so; both empty where neither does.
func (s settings) of(name string) (text, from string) {
	if s.given[name] {
		return s.flags.Lookup(name).Value.String(), "-" + name
	}
	variable := "PLUMB_" + strings.ToUpper(name)
	if e := strings.TrimSpace(s.env(variable)); e != "" {
		return e, variable
	}
	return "", ""
}

// truth reads a setting that is true or false.
func (s settings) truth(name string) (bool, error) {
	text, from := s.of(name)
	if from == "" {
		return false, nil
	}
	v, err := strconv.ParseBool(text)
	if err != nil {
		return false, fmt.Errorf("server: %s: %q is neither true nor false", from, text)
	}
	return v, nil
}

// place reads an address to listen at, and tells whether other computers can reach it, which the environment alone must not bring about.
func (s settings) place(name, otherwise string) (addr string, open bool, err error) {
	addr, from := s.of(name)
	if from == "" {
		addr = otherwise
	}
	if addr == "" && from == "" {
		return "", false, nil
	}
	if open, err = reach(addr); err != nil {
		return "", false, fmt.Errorf("server: %s: %w", from, err)
	}
	if open && !s.given[name] {
		return "", false, fmt.Errorf("server: %s: other computers can reach %s; if that is meant, say so with -%s %s", from, addr, name, addr)
	}
	return addr, open, nil
}

// configure reads flags, command and environment; flags win over environment.
func configure(args []string, env func(string) string) (config, error) {
	c, err := parse(args, env)
	if err != nil {
		return config{}, err
	}
	return c, nil
}

func parse(args []string, env func(string) string) (c config, err error) {
	set := flag.NewFlagSet("server", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	for _, name := range []string{"addr", "data", "limit", "rate", "metrics", "log"} {
		set.String(name, "", "")
	}
	set.Bool("proxy", false, "")
	set.Bool("requests", false, "")
	set.StringVar(&c.export, "export", "", "")
	set.BoolVar(&c.version, "version", false, "")
	if err := set.Parse(args); errors.Is(err, flag.ErrHelp) {
		return c, err
	} else if err != nil {
		return c, fmt.Errorf("server: %w", err)
	}
	s := settings{set, map[string]bool{}, env}
	set.Visit(func(f *flag.Flag) { s.given[f.Name] = true })
	var from string
	if c.data, from = s.of("data"); from != "" && c.data == "" {
		return c, errors.New("server: -data: no folder is named")
	}
	if s.given["export"] && (c.export == "" || set.NArg() > 0) {
		return c, errors.New("server: -export: one folder has to be named, and no command goes with it")
	}
	if err := c.order(set.Args()); err != nil {
		return c, err
	}
	c.rate = 40
	if text, from := s.of("rate"); from != "" {
		if c.rate, err = strconv.Atoi(text); err != nil || c.rate < 1 || c.rate > 1e6 {
			return c, fmt.Errorf("server: %s: %q is no whole number from 1 to 1000000", from, text)
		}
	}
	c.limit = 10 << 30
	if c.data == "" {
		c.limit = 256 << 20
	}
	if text, from := s.of("limit"); from != "" {
		if c.limit, err = size(text); err != nil {
			return c, fmt.Errorf("server: %s: %w", from, err)
		}
	}
	switch text, from := s.of("log"); {
	case text == "json":
		c.json = true
	case text != "text" && from != "":
		return c, fmt.Errorf("server: %s: %q is no form of a log; it is text or json", from, text)
	}
	if c.proxy, err = s.truth("proxy"); err != nil {
		return c, err
	}
	if c.requests, err = s.truth("requests"); err != nil {
		return c, err
	}
	if c.addr, c.open, err = s.place("addr", home); err != nil {
		return c, err
	}
	if c.metrics, c.bare, err = s.place("metrics", ""); err != nil {
		return c, err
	}
	if _, port, _ := net.SplitHostPort(c.addr); c.metrics == c.addr && port != "0" {
		return c, fmt.Errorf("server: -metrics: the site is served at %s already; choose another port", c.addr)
	}
	return c, nil
}

// order reads a command and its file.
func (c *config) order(args []string) error {
	if len(args) == 0 {
		return nil
	}
	switch c.command = args[0]; c.command {
	case "backup", "restore":
		if len(args) != 2 {
			return fmt.Errorf("server: %s: one file has to be named after it; flags stand before the command", c.command)
		}
		c.file = args[1]
	case "purge", "ready":
		if len(args) != 1 {
			return fmt.Errorf("server: %s: nothing stands after it; flags stand before the command", c.command)
		}
	case "verify":
		if len(args) < 2 {
			return errors.New("server: verify: a record has to be named after it, then what else belongs to it; flags stand before the command")
		}
		c.file, c.beside = args[1], args[2:]
	default:
		return fmt.Errorf("server: %q is not understood; commands are backup FILE, restore FILE, purge, ready and verify FILE, and flags stand before them", args[0])
	}
	if c.data == "" && c.command != "verify" && c.command != "ready" { // which need no mailbox
		c.data = usual
	}
	return nil
}

// size reads a number of bytes, or of 1024 to the first, second or third power of them (K, M, G).
func size(text string) (int64, error) {
	number, unit := strings.ToUpper(strings.TrimSpace(text)), int64(1)
	for name, bytes := range map[string]int64{"K": 1 << 10, "M": 1 << 20, "G": 1 << 30} {
		if n, ok := strings.CutSuffix(number, name); ok {
			number, unit = n, bytes
			break
		}
	}
	n, err := strconv.ParseInt(number, 10, 64)
	if err != nil || n < 1 || n > 1<<50/unit {
		return 0, fmt.Errorf("%q is no size, such as 500M or 10G", text)
	}
	return n * unit, nil
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
