//go:build !js

package carry_test

import (
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/sqlite"
)

func init() {
	kinds["sqlite"] = func(t *testing.T) mailbox.Store {
		s, err := sqlite.Open(t.TempDir(), sqlite.Settings{Now: time.Now, Limit: mailboxtest.Plenty})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { s.Shut() })
		return s
	}
}
