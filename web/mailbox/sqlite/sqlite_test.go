package sqlite

import (
	"testing"

	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
)

func fresh(t *testing.T, limit int64) mailboxtest.Harness {
	clock := mailboxtest.NewClock()
	s, err := Open(t.TempDir(), Settings{Now: clock.Now, Limit: limit})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Shut(); err != nil {
			t.Error(err)
		}
	})
	return mailboxtest.Harness{Store: s, Sweep: s.Sweep, Clock: clock}
}

func TestStore(t *testing.T) { mailboxtest.Run(t, fresh) }

// The store in memory is the plain one of the two.
func TestTwin(t *testing.T) {
	commands := 4000
	if testing.Short() {
		commands = 1000
	}
	for seed := range uint64(2) {
		clock := mailboxtest.NewClock()
		plain := memory.New(clock.Now, 6000)
		twin := fresh(t, 6000)
		mailboxtest.Twin(t, twin, mailboxtest.Harness{Store: plain, Sweep: plain.Sweep, Clock: clock}, seed, commands)
		want, _ := plain.Content(background)
		if got, err := twin.Store.(*Store).Content(background); err != nil || got != want || want.Bytes == 0 {
			t.Errorf("seed %d: the store holds %+v, %v; its twin %+v", seed, got, err, want)
		}
	}
}
