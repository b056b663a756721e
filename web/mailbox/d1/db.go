//go:build js && wasm

package d1

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall/js"
	"time"

	"example.org/plumb/web/mailbox"
	tables "example.org/plumb/web/mailbox/sql"
)

// db is a database. The driver reads; it knows no transaction, so what is written goes to D1 as a batch, which is one.
type db struct {
	reading driver.Connector
	binding js.Value
}

// Read runs a SELECT. The driver is asked without database/sql, which would copy every letter once more.
func (d db) Read(ctx context.Context, s tables.Statement) (tables.Rows, error) {
	if err := check(s.Args); err != nil {
		return nil, err
	}
	c, err := d.reading.Connect(ctx)
	if err != nil {
		return nil, translate(err)
	}
	p, err := c.Prepare(s.Text)
	if err != nil {
		return nil, translate(err)
	}
	args := make([]driver.NamedValue, len(s.Args))
	for i, a := range s.Args {
		args[i] = driver.NamedValue{Ordinal: i + 1, Value: a}
	}
	found, err := p.(driver.StmtQueryContext).QueryContext(ctx, args)
	if err != nil {
		return nil, translate(err)
	}
	var rows tables.Rows
	columns := make([]driver.Value, len(found.Columns()))
	for {
		switch err := found.Next(columns); {
		case err == io.EOF:
			return rows, nil
		case err != nil:
			return nil, translate(err)
		}
		row := make([]any, len(columns))
		for i, c := range columns {
			row[i] = c
		}
		rows = append(rows, row)
	}
}

// Write runs a batch. D1 returns the rows of a batch by the names of their columns: each must have its own in a statement.
func (d db) Write(_ context.Context, statements ...tables.Statement) ([]tables.Rows, error) {
	batch := make([]any, len(statements))
	for i, s := range statements {
		if err := check(s.Args); err != nil {
			return nil, err
		}
		args := make([]any, len(s.Args))
		for k, a := range s.Args {
			if b, ok := a.([]byte); ok {
				a = toJS(b)
			}
			args[k] = a
		}
		batch[i] = d.binding.Call("prepare", s.Text).Call("bind", args...)
	}
	results, err := await(d.binding.Call("batch", batch))
	if err != nil {
		return nil, translate(err)
	}
	rows := make([]tables.Rows, len(statements))
	for i := range rows {
		found := results.Index(i).Get("results")
		for k := range found.Length() {
			row, err := values(found.Index(k))
			if err != nil {
				return nil, err
			}
			rows[i] = append(rows[i], row)
		}
	}
	return rows, nil
}

// exact is the greatest integer up to which numbers in JavaScript are exact.
const exact = 1<<53 - 1

// check refuses what D1 would store as something else.
func check(args []any) error {
	for i, a := range args {
		switch a := a.(type) {
		case int64:
			if a > exact || a < -exact {
				return fmt.Errorf("d1: argument %d is beyond 2^53", i+1)
			}
		case string, []byte:
		default:
			return fmt.Errorf("d1: argument %d is a %T", i+1, a)
		}
	}
	return nil
}

// values are the columns of a row.
func values(row js.Value) ([]any, error) {
	columns := js.Global().Get("Object").Call("values", row)
	out := make([]any, columns.Length())
	for i := range out {
		switch v := columns.Index(i); v.Type() {
		case js.TypeNull:
		case js.TypeString:
			out[i] = v.String()
		case js.TypeObject:
			out[i] = toGo(v)
		case js.TypeNumber:
			f := v.Float()
			n := int64(f)
			if float64(n) != f || n > exact || n < -exact {
				return nil, errors.New("d1: a column holds a number that is no exact integer")
			}
			out[i] = n
		default:
			return nil, fmt.Errorf("d1: a column holds a %v", v.Type())
		}
	}
	return out, nil
}

// translate gives an error of D1 its meaning for a store. Its own text holds statements but no values.
func translate(err error) error {
	switch {
	case err == nil:
		return nil
	case strings.Contains(err.Error(), "Exceeded maximum DB size"):
		return mailbox.ErrFull
	case strings.Contains(err.Error(), "D1 DB is overloaded"):
		return mailbox.Busy{After: time.Second}
	}
	return fmt.Errorf("d1: %w", err)
}
