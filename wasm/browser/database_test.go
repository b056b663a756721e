//go:build js

package browser

import (
	"errors"
	"fmt"
	"testing"
)

// wrote waits for Write.
func wrote(d *Database, rows ...Row) error {
	done := make(chan error, 1)
	d.Write(rows, func(err error) { done <- err })
	return <-done
}

// rows waits for Read.
func rows(d *Database) (string, error) {
	type outcome struct {
		rows []Row
		err  error
	}
	done := make(chan outcome, 1)
	d.Read(func(rows []Row, err error) { done <- outcome{rows, err} })
	o := <-done
	return fmt.Sprintf("%s", o.rows), o.err
}

// A database of an earlier version gets the drawers that came since and keeps what it holds; a program of an earlier version is told that it is one.
func TestDatabaseUpgrade(t *testing.T) {
	page(t)
	old := NewDatabase("upgrade test", 2, "sittings", "letters")
	if err := wrote(old, Row{"sittings", "a", []byte("apples")}, Row{"letters", "p", []byte("pears")}); err != nil {
		t.Fatal(err)
	}
	d := NewDatabase("upgrade test", 3, "sittings", "letters", "decisions")
	got, err := rows(d)
	if want := "[{sittings a apples} {letters p pears}]"; err != nil || got != want {
		t.Errorf("%s, %v, want %s", got, err, want)
	}
	if err := wrote(d, Row{"decisions", "q", []byte("plums")}, Row{"letters", "p", nil}); err != nil {
		t.Fatal(err)
	}
	got, err = rows(NewDatabase("upgrade test", 3, "sittings", "letters", "decisions"))
	if want := "[{sittings a apples} {decisions q plums}]"; err != nil || got != want {
		t.Errorf("%s, %v, want %s", got, err, want)
	}
	if _, err := rows(NewDatabase("upgrade test", 2, "sittings", "letters")); !errors.Is(err, ErrNewer) {
		t.Errorf("an earlier program: %v", err)
	}
}

// What is left alone when all is read is fetched row by row.
func TestDatabaseFetch(t *testing.T) {
	page(t)
	d := NewDatabase("fetch test", 1, "papers", "files")
	d.Leave("files")
	if err := wrote(d, Row{"papers", "a", []byte("apples")}, Row{"files", "a", []byte("a basket of apples")}); err != nil {
		t.Fatal(err)
	}
	if got, err := rows(d); err != nil || got != "[{papers a apples}]" {
		t.Errorf("%s, %v", got, err)
	}
	for _, c := range []struct{ drawer, key, want string }{{"files", "a", "a basket of apples"}, {"papers", "a", "apples"}, {"files", "b", ""}} {
		type outcome struct {
			value []byte
			err   error
		}
		done := make(chan outcome, 1)
		d.Fetch(c.drawer, c.key, func(value []byte, err error) { done <- outcome{value, err} })
		if o := <-done; o.err != nil || string(o.value) != c.want || (o.value == nil) != (c.want == "") {
			t.Errorf("%s/%s: %q, %v", c.drawer, c.key, o.value, o.err)
		}
	}
	done := make(chan error, 1)
	d.Fetch("shelves", "a", func(_ []byte, err error) { done <- err })
	if err := <-done; !errors.Is(err, ErrCorrupt) {
		t.Errorf("a drawer that is not there: %v", err)
	}
}
