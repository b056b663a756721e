package memory_test

import (
	"testing"

	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
)

func fresh(t *testing.T, limit int64) mailboxtest.Harness {
	clock := mailboxtest.NewClock()
	s := memory.New(clock.Now, limit)
	return mailboxtest.Harness{Store: s, Sweep: s.Sweep, Clock: clock}
}

func TestStore(t *testing.T) { mailboxtest.Run(t, fresh) }
