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
	go run ./web/server [flags] backup FILE | restore FILE | purge
	go run ./web/server verify FILE [more files]
	go run ./web/server -export DIR

The first start builds the browser program, which takes about a minute;
later starts use what is kept in the folder .build.

Flags:
	-addr host:port   where to serve (default 127.0.0.1:8440). A port of 0 takes
	                  any that is free. An address that other computers can reach
	                  has to be given here, not in the environment.
	-data FOLDER      keep the mailbox in this folder, which is made if need be.
	                  Without it letters are kept in memory and are gone when the
	                  server stops; the commands below then take the folder .data.
	-limit SIZE       the most that all boxes may hold, such as 500M or 10G
	                  (default 10G; 256M in memory)
	-rate N           requests a second of each client that are served for long
	                  (default 40)
	-proxy            requests come through a proxy, which puts the client's
	                  address last in X-Forwarded-For
	-export DIR       write the whole site, but for the mailbox, into a folder that
	                  is empty or not there yet, and end. Any host of plain files
	                  can serve it at the root of an address; requests for a check
	                  then travel inside their links.
	-version          print the version and end
	-help             print this and end

Commands; backup and purge may be used while the server runs:
	backup FILE       write what the mailbox holds to a new file
	restore FILE      make a mailbox of a backup, in a folder that holds none
	purge             remove what has expired now, and shrink the database
	verify FILE [...] tell what the record of a decision in FILE says and whether it
	                  stands, and whether more files belong to it: pictures as sent
	                  or as they were before, the report, the screen model, other
	                  records. It needs no mailbox and no network. The exit status
	                  is 0 only if all of it stands.

Environment:
	PLUMB_ADDR        as -addr, for an address of this computer alone; -addr wins
	PLUMB_DATA        as -data; -data wins

Addresses for machines: /healthz answers "live", /version tells in JSON the
version and the SHA-256 of the browser program.
`

// config is what a start depends on.
type config struct {
	addr    string
	open    bool   // addr can be reached from other computers
	data    string // folder of the mailbox; "" for a mailbox in memory
	limit   int64  // bytes in all boxes
	rate    int    // requests a second of a client
	proxy   bool
	version bool
	export  string   // a folder to write the site to instead of serving it; "" for none
	command string   // "", backup, restore, purge or verify
	file    string   // of backup, restore and verify
	beside  []string // files that verify compares with it
}

const (
	home  = "127.0.0.1:8440"
	usual = ".data" // the folder of commands that are told no other
)

// configure reads flags, command and environment; flags win over environment.
func configure(args []string, env func(string) string) (config, error) {
	var c config
	var limit string
	set := flag.NewFlagSet("server", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.StringVar(&c.addr, "addr", "", "")
	set.StringVar(&c.data, "data", strings.TrimSpace(env("PLUMB_DATA")), "")
	set.StringVar(&limit, "limit", "", "")
	set.IntVar(&c.rate, "rate", 40, "")
	set.BoolVar(&c.proxy, "proxy", false, "")
	set.StringVar(&c.export, "export", "", "")
	set.BoolVar(&c.version, "version", false, "")
	if err := set.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return config{}, err
		}
		return config{}, fmt.Errorf("server: %w", err)
	}
	given := map[string]bool{}
	set.Visit(func(f *flag.Flag) { given[f.Name] = true })
	if given["data"] && c.data == "" {
		return config{}, errors.New("server: -data: no folder is named")
	}
	if given["export"] && (c.export == "" || set.NArg() > 0) {
		return config{}, errors.New("server: -export: one folder has to be named, and no command goes with it")
	}
	if err := c.order(set.Args()); err != nil {
		return config{}, err
	}
	if c.rate < 1 || c.rate > 1e6 {
		return config{}, fmt.Errorf("server: -rate: %d is not from 1 to 1000000", c.rate)
	}
	c.limit = 10 << 30
	if c.data == "" {
		c.limit = 256 << 20
	}
	if given["limit"] {
		var err error
		if c.limit, err = size(limit); err != nil {
			return config{}, fmt.Errorf("server: -limit: %w", err)
		}
	}
	from := "-addr"
	if !given["addr"] {
		c.addr, from = home, "PLUMB_ADDR"
		if e := strings.TrimSpace(env("PLUMB_ADDR")); e != "" {
			c.addr = e
		}
	}
	open, err := reach(c.addr)
	if err != nil {
		return config{}, fmt.Errorf("server: %s: %w", from, err)
	}
	if open && !given["addr"] {
		return config{}, fmt.Errorf("server: PLUMB_ADDR: other computers can reach %s; if that is meant, say so with -addr %s", c.addr, c.addr)
	}
	c.open = open
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
	case "purge":
		if len(args) != 1 {
			return errors.New("server: purge: nothing stands after it; flags stand before the command")
		}
	case "verify":
		if len(args) < 2 {
			return errors.New("server: verify: a record has to be named after it, then what else belongs to it; flags stand before the command")
		}
		c.file, c.beside = args[1], args[2:]
		return nil // it needs no mailbox
	default:
		return fmt.Errorf("server: %q is not understood; commands are backup FILE, restore FILE, purge and verify FILE, and flags stand before them", args[0])
	}
	if c.data == "" {
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
