package main

import (
	"io"
	"net"
	"sync"
	"time"
)

// A line carries connections to a server as a line of limited speed would: what comes back shares one rate, and everything is late by half a round trip each way. A
// connection begins with one round trip of its own (RFC 9293, section 3.5); that a connection starts slowly is left out.
type line struct {
	to    string
	rate  float64 // bytes a second, towards the browser
	trip  time.Duration
	open  net.Listener
	mutex sync.Mutex
	free  time.Time // when the last byte that is on its way is through
	bytes int64     // that went to the browser
}

// lay begins to carry, from a free port of the loopback interface.
func lay(to string, rate float64, trip time.Duration) (*line, error) {
	l := &line{to: to, rate: rate, trip: trip}
	var err error
	if l.open, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
		return nil, err
	}
	go func() {
		for {
			c, err := l.open.Accept()
			if err != nil {
				return
			}
			go l.carry(c)
		}
	}()
	return l, nil
}

// carried is how many bytes went to the browser so far.
func (l *line) carried() int64 {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	return l.bytes
}

// alone is how long so many bytes take by themselves: the connection's round trip, the request's, and their own time.
func (l *line) alone(bytes int64) time.Duration {
	return 2*l.trip + time.Duration(float64(bytes)/l.rate*float64(time.Second))
}

// arrives is when so many bytes that leave the server now are with the browser.
func (l *line) arrives(n int) time.Time {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	l.bytes += int64(n)
	if now := time.Now(); l.free.Before(now) {
		l.free = now
	}
	l.free = l.free.Add(time.Duration(float64(n) / l.rate * float64(time.Second)))
	return l.free.Add(l.trip / 2)
}

func (l *line) carry(browser net.Conn) {
	defer browser.Close()
	server, err := net.Dial("tcp", l.to)
	if err != nil {
		return
	}
	defer server.Close()
	begun := time.Now().Add(l.trip)
	var both sync.WaitGroup
	both.Go(func() {
		defer server.(*net.TCPConn).CloseWrite()
		late(server, browser, func(int) time.Time { // the first request leaves when the connection stands
			at := time.Now()
			if at.Before(begun) {
				at = begun
			}
			return at.Add(l.trip / 2)
		})
	})
	both.Go(func() {
		defer browser.(*net.TCPConn).CloseWrite()
		late(browser, server, l.arrives)
	})
	both.Wait()
}

// late copies what comes, each piece when it is due.
func late(to io.Writer, from io.Reader, due func(n int) time.Time) {
	type piece struct {
		at time.Time
		b  []byte
	}
	way := make(chan piece, 4096)
	go func() {
		defer close(way)
		for {
			b := make([]byte, 2920) // two segments of Ethernet
			n, err := from.Read(b)
			if n > 0 {
				way <- piece{due(n), b[:n]}
			}
			if err != nil {
				return
			}
		}
	}()
	for p := range way {
		time.Sleep(time.Until(p.at))
		if _, err := to.Write(p.b); err != nil {
			for range way { // whoever reads may end
			}
			return
		}
	}
}
