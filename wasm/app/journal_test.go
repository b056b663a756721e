package app

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/testdata"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
)

type drawers = map[string]map[string][]byte

// released is what a released version of the program kept, by the version of its database.
func released(t testing.TB, version int) drawers {
	t.Helper()
	b, err := testdata.FS.ReadFile(fmt.Sprintf("shelf/%d.json", version))
	if err != nil {
		t.Fatal(err)
	}
	var text map[string]map[string]string
	if err := json.Unmarshal(b, &text); err != nil {
		t.Fatal(err)
	}
	rows := drawers{}
	for d, list := range text {
		rows[d] = map[string][]byte{}
		for k, v := range list {
			rows[d][k] = []byte(v)
		}
	}
	return rows
}

// looked keeps a finished sitting under an id: a released one, with other names, at another time, and edited.
func looked(t testing.TB, rows drawers, id, screen, mode string, at time.Time, edit func(*report.Record)) {
	t.Helper()
	var r report.Record
	for _, b := range released(t, 1)[Records] {
		var err error
		if r, err = report.Read(b); err != nil {
			t.Fatal(err)
		}
	}
	r.Version = report.Version
	r.Conditions.Screen, r.Conditions.Mode, r.Conditions.Viewer = screen, mode, "Ines"
	r.Conditions.Started, r.Conditions.Ended = at.Add(-4*time.Minute).UnixMilli(), at.UnixMilli()
	r.Plan.Seed = uint64(at.Unix())
	if edit != nil {
		edit(&r)
	}
	b := r.Marshal()
	for _, row := range recordRows(r, b) {
		_, rest, _ := strings.Cut(row.Key, "/")
		if rest != "" {
			rest = "/" + rest
		}
		if row.Drawer == Sittings {
			var h heading
			if err := json.Unmarshal(row.Value, &h); err != nil {
				t.Fatal(err)
			}
			h.ID = id
			row.Value = encode(h)
		}
		put(rows, row.Drawer, id+rest, row.Value)
	}
}

func put(rows drawers, drawer, key string, value []byte) {
	if rows[drawer] == nil {
		rows[drawer] = map[string][]byte{}
	}
	rows[drawer][key] = value
}

// shelves are the journal of a browser: three sittings at one screen in two modes, two at another.
func shelves(t testing.TB) drawers {
	rows := drawers{}
	day := func(n int) time.Time { return start.AddDate(0, 0, n-100) }
	looked(t, rows, "a1", "studio left", "sRGB preset", day(1), nil)
	looked(t, rows, "a2", "Studio  Left", "srgb preset", day(30), nil)
	looked(t, rows, "a3", "studio left", "native", day(40), nil)
	looked(t, rows, "b1", "kitchen laptop", "", day(50), nil)
	looked(t, rows, "b2", "laptop in the kitchen", "", day(60), nil)
	return rows
}

// reads opens the journal of a browser.
func reads(t *testing.T, rows drawers) *peer {
	t.Helper()
	p := visit(t, world(), rows, "journal", "")
	p.stage(Journal)
	return p
}

// chapter opens a chapter by what it is called.
func (p *peer) chapter(name string) *volume {
	p.t.Helper()
	for _, v := range p.app.volumes() {
		if v.called() == name {
			p.press("overview", "")
			p.press("chapter", v.ID)
			return v
		}
	}
	p.t.Fatalf("no chapter %q: %q", name, p.chapters())
	return nil
}

// chapters are all chapters, each with the ids of its sittings and papers.
func (p *peer) chapters() []string {
	var list []string
	for _, v := range p.app.volumes() {
		s := v.called() + ":"
		for _, x := range v.sittings {
			s += " " + x.ID
		}
		for _, x := range v.papers {
			s += " " + x.Name
		}
		list = append(list, s)
	}
	slices.Sort(list)
	return list
}

func (p *peer) wantChapters(want ...string) {
	p.t.Helper()
	if got := p.chapters(); !slices.Equal(got, want) {
		p.t.Errorf("chapters\n%q, want\n%q", got, want)
	}
	// What the program believes is what is on the shelf.
	other := visit(p.t, world(), copied(p.rows), "journal", "")
	if got := other.chapters(); !slices.Equal(got, want) {
		p.t.Errorf("chapters after a reload\n%q, want\n%q", got, want)
	}
}

// Every released form of the shelf opens: what was kept is in the journal, and not a byte of it is changed.
func TestReleasedRows(t *testing.T) {
	for version := 1; version <= 3; version++ {
		rows := released(t, version)
		was := copied(rows)
		p := reads(t, rows)
		want := []string{"Kitchen laptop", "Packing-room tablet", "Studio left"}
		var got []string
		finished, all := 0, 0
		for _, v := range p.app.volumes() {
			got = append(got, v.called())
			for _, x := range v.sittings {
				all++
				if x.over() {
					finished++
				}
			}
		}
		slices.Sort(got)
		if !slices.Equal(got, want) || finished != len(was[Records]) || all != len(was[Sittings]) || finished == 0 {
			t.Errorf("version %d: %q, %d sittings of %d, %d with a report of %d", version, got, all, len(was[Sittings]), finished, len(was[Records]))
		}
		if len(p.app.oddViews()) > 0 {
			t.Errorf("version %d: %v cannot be read", version, p.app.oddViews())
		}
		for _, v := range p.app.volumes() {
			p.press("chapter", v.ID)
			for _, x := range v.usable() {
				p.press("sitting-open", x.ID)
				p.stage(Report)
				p.press("journal", "")
				p.stage(Journal)
			}
			p.press("overview", "")
		}
		for d, list := range was {
			for k, v := range list {
				if !bytes.Equal(rows[d][k], v) && d != Requests && d != Letters { // the desk's own
					t.Errorf("version %d: %s/%s was changed", version, d, k)
				}
			}
		}
	}
}

// Capitals and blanks do not tell screens apart, modes do.
func TestChapters(t *testing.T) {
	p := reads(t, shelves(t))
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
	p.must("Studio left", "native", "2 sittings.", "Kitchen laptop")
}

// Renamed, a screen keeps its old names; merged, it has those of both; taken apart, a name stands by itself again. No record is written anew.
func TestNames(t *testing.T) {
	rows := shelves(t)
	was := copied(rows)
	p := reads(t, rows)
	p.chapter("Kitchen laptop")
	p.app.Input("screen", "Ines's laptop")
	p.press("rename", p.app.journal.open)
	p.wantChapters("Ines's laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
	p.must("Ines's laptop</h1>", "Counts as this screen", "Kitchen laptop")

	// A name that is taken merges only at a second press.
	p.app.Input("screen", "laptop in the kitchen")
	p.press("rename", p.app.journal.open)
	p.must("There is a screen of that name already")
	p.wantChapters("Ines's laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
	p.press("rename", p.app.journal.open)
	p.wantChapters("Laptop in the kitchen: b1 b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")

	p.press("apart", "0")
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")

	v := p.chapter("Studio left, native")
	p.press("merge", v.ID)
	p.must("Choose the other screen first")
	p.app.Input("same", p.app.volumes()[0].ID)
	for _, o := range p.app.volumes() {
		if o.called() == "Studio left, sRGB preset" {
			p.app.Input("same", o.ID)
		}
	}
	p.press("merge", v.ID)
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a1 a2 a3")
	for _, d := range []string{Sittings, Judgements, Records} {
		for k, b := range was[d] {
			if !bytes.Equal(rows[d][k], b) {
				t.Errorf("%s/%s was written anew", d, k)
			}
		}
	}
}

// A single sitting is moved by hand, and moved again, wherever its name would put it.
func TestMove(t *testing.T) {
	p := reads(t, shelves(t))
	v := p.chapter("Studio left, sRGB preset")
	var native string
	for _, o := range p.app.volumes() {
		if o.called() == "Studio left, native" {
			native = o.ID
		}
	}
	p.press("move", "a2")
	p.must("Which screen does it belong to")
	p.press("move-sitting", "a2 "+native)
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a2 a3", "Studio left, sRGB preset: a1")
	p.chapter("Studio left, native")
	p.press("move-sitting", "a2 "+v.ID)
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
	p.chapter("Studio left, sRGB preset")
	p.press("move-new", "a1")
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset 2: a1", "Studio left, sRGB preset: a2")
}

// Baseline and interval are the person's, and stay.
func TestDecided(t *testing.T) {
	rows := shelves(t)
	p := reads(t, rows)
	v := p.chapter("Studio left, sRGB preset")
	if strings.Contains(p.page["journal"], "is due") {
		t.Error("something is due that nobody asked for")
	}
	p.app.Input("interval", "28")
	p.settle()
	p.must("A look has been due since 13 October 2026") // 28 days after the second sitting
	for _, days := range []string{"7", "14", "91"} {    // arrow keys choose faster than a browser writes
		p.app.Input("interval", days)
	}
	p.settle()
	p.must("The next look is due on 15 December 2026")
	p.press("sitting-baseline", "a2")
	p = reads(t, copied(rows))
	p.press("chapter", v.ID)
	x := p.app.volume(v.ID)
	if x.Interval != 91 || x.Baseline != "a2" || x.baseline(x.usable()) != 1 {
		t.Errorf("interval %d, baseline %q", x.Interval, x.Baseline)
	}
	for _, bad := range []string{"0", "-2", "99999999", "x", ""} {
		p.app.Input("interval", bad)
		p.settle()
	}
	if x := p.app.volume(v.ID); x.Interval != 91 {
		t.Errorf("an interval of %d was taken", x.Interval)
	}
	p.app.Input("interval", "-1")
	p.settle()
	if x := p.app.volume(v.ID); x.Interval != never || strings.Contains(p.page["journal"], "is due") {
		t.Errorf("interval %d", x.Interval)
	}
}

// Nothing is deleted at a first press, nor by a press on something else between two; and never while another tab works at it.
func TestDelete(t *testing.T) {
	rows := shelves(t)
	was := copied(rows)
	p := reads(t, rows)
	v := p.chapter("Studio left, sRGB preset")
	p.press("sitting-delete", "a1")
	p.press("sitting-delete", "a2")
	p.press("sitting-delete", "a1")
	p.press("delete-chapter", v.ID)
	p.press("spare", v.ID)
	p.press("delete-chapter", v.ID)
	p.press("move", "a1")
	if len(rows[Records]) != len(was[Records]) {
		t.Fatal("something was deleted without a second press")
	}
	p.others = map[string]bool{"a1": true}
	p.press("sitting-delete", "a1")
	p.press("sitting-delete", "a1")
	p.must("Nothing was deleted: a sitting of it is open in another tab")
	p.press("delete-chapter", v.ID)
	p.press("delete-chapter", v.ID)
	p.must("Nothing was deleted")
	if len(rows[Records]) != len(was[Records]) {
		t.Fatal("something was deleted that another tab works at")
	}
	p.others = nil
	p.press("sitting-delete", "a1")
	p.press("sitting-delete", "a1")
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio Left, srgb preset: a2", "Studio left, native: a3")
	p.press("delete-chapter", v.ID)
	p.press("delete-chapter", v.ID)
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3")
	for d, list := range rows {
		for k := range list {
			if strings.HasPrefix(k, "a1") || strings.HasPrefix(k, "a2") {
				t.Errorf("%s/%s is still there", d, k)
			}
		}
	}
}

// What cannot be written changes nothing, on the page or on the shelf, and can be tried again.
func TestJournalFull(t *testing.T) {
	rows := shelves(t)
	p := reads(t, rows)
	p.chapter("Kitchen laptop")
	was := copied(rows)
	p.refuse = ErrFull
	p.app.Input("screen", "Ines's laptop")
	p.press("rename", p.app.journal.open)
	p.must("Nothing was changed: the browser's storage is full")
	p.press("sitting-delete", "b1")
	p.press("sitting-delete", "b1")
	p.must("Nothing was changed")
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
	for d, list := range was {
		if len(rows[d]) != len(list) {
			t.Errorf("%d rows of %s, were %d", len(rows[d]), d, len(list))
		}
	}
	p.refuse = nil
	p.press("rename", p.app.journal.open)
	p.wantChapters("Ines's laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
}

// A storage that cannot be read is not taken for an empty one, and once it can be read again everything is there.
func TestJournalUnread(t *testing.T) {
	rows := shelves(t)
	p := arrive(t, world(), rows, "journal")
	p.deny = ErrNewer
	p.app.Begin(surface(), nil)
	p.pass(100 * time.Millisecond)
	p.stage(Journal)
	p.must("cannot be read now: the storage was laid out by a newer version")
	if p.reads("Nothing is kept here yet") {
		t.Error("it is taken for an empty one")
	}
	b := exported(t, rows)
	p.app.Opened("", "journal.json", b, nil)
	p.press("bring", "")
	if p.writes > 0 {
		t.Error("something was written")
	}
	p.deny = nil
	p.app.Visible(true)
	p.settle()
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
}

// One tab changes the journal; another one reads it, and has what was changed once the first lets go.
func TestTwoJournals(t *testing.T) {
	rows := shelves(t)
	p := reads(t, rows)
	q := visit(t, world(), rows, "journal", "")
	q.app.Locked(journalLock, false)
	v := q.chapter("Kitchen laptop")
	q.must("The journal is open in another tab of this browser")
	for _, name := range []string{`data-action="rename"`, `data-action="sitting-delete"`, `data-action="merge"`, `name="interval"`} {
		if strings.Contains(q.page["journal"], name) {
			t.Errorf("%s is offered", name)
		}
	}
	q.app.Input("interval", "7")
	q.press("sitting-delete", "b1")
	q.press("sitting-delete", "b1")
	q.app.Opened("journal", "journal.json", exported(t, rows), nil)
	q.settle()
	if len(rows[Screens]) > 0 || rows[Records]["b1"] == nil {
		t.Fatal("the second tab changed the journal")
	}
	p.chapter("Kitchen laptop")
	p.app.Input("screen", "Ines's laptop")
	p.press("rename", p.app.journal.open)
	q.app.Locked(journalLock, true)
	q.settle()
	q.must("Ines's laptop")
	q.app.Input("interval", "7")
	q.settle()
	if x := q.app.volume(v.ID); x == nil || x.Interval != 7 || x.Screen != "Ines's laptop" {
		t.Errorf("%+v", x)
	}
	// A tab that comes to the front again has what another one did meanwhile.
	delete(rows[Screens], v.ID)
	q.app.Visible(true)
	q.settle()
	q.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
}

// exported is the file of a journal.
func exported(t *testing.T, rows drawers) []byte {
	t.Helper()
	p := reads(t, copied(rows))
	p.press("save-journal", "")
	for name, b := range p.files {
		if strings.Contains(name, "journal") {
			return b
		}
	}
	t.Fatalf("no journal was saved: %v", p.page)
	return nil
}

// paperOf keeps a paper with a file in a browser.
func paperOf(t *testing.T, rows drawers, screen, mode, name string, file []byte) {
	t.Helper()
	p := reads(t, rows)
	x := &paper{Screen: screen, Mode: mode, Name: name, File: file, Paper: study.Paper{Digest: sum(file), Size: int64(len(file)), Profile: &study.Profile{Name: "Studio left, June", Expected: nil}}}
	var err error
	p.app.keepPaper(x, func(e error) { err = e })
	p.settle()
	if err != nil {
		t.Fatal(err)
	}
}

// A journal that is saved and brought into an empty browser is the same there; brought again, or into the browser that it came from, it adds nothing.
func TestBring(t *testing.T) {
	rows := shelves(t)
	paperOf(t, rows, "studio left", "sRGB preset", "june.icc", []byte("a profile, as far as this test goes"))
	p := reads(t, rows)
	p.chapter("Kitchen laptop")
	for _, o := range p.app.volumes() {
		if o.called() == "Laptop in the kitchen" {
			p.app.Input("same", o.ID)
		}
	}
	p.press("merge", p.app.journal.open)
	p.app.Input("interval", "14")
	p.settle()
	p.press("sitting-baseline", "b2")
	put(rows, Papers, "odd", []byte(`{"version":1,"half a row`))
	put(rows, Screens, "odd", []byte(`[]`))
	b := exported(t, rows)
	want := []string{"Kitchen laptop: b1 b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2 june.icc"}

	empty := drawers{}
	q := reads(t, empty)
	q.must("Nothing is kept here yet")
	q.app.Opened("journal", "journal.json", b, nil)
	q.must("5 sittings", "1 profile", "1 screen", "2 things in it are damaged and are left in the file")
	if len(empty) > 0 {
		t.Fatal("something was taken before it was asked for")
	}
	q.press("bring", "")
	q.must("It is in the journal now")
	q.wantChapters(want...)
	for _, d := range journalDrawers {
		for k, v := range rows[d] {
			if got := empty[d][k]; !bytes.Equal(got, v) && k != "odd" {
				t.Errorf("%s/%s arrived as %.80s, was %.80s", d, k, got, v)
			}
		}
	}
	c := q.app.volume(q.app.volumes()[0].ID)
	for _, v := range q.app.volumes() {
		if v.called() == "Kitchen laptop" {
			c = v
		}
	}
	if c.Interval != 14 || c.Baseline != "b2" {
		t.Errorf("interval %d, baseline %q", c.Interval, c.Baseline)
	}
	var file []byte
	q.app.paperFile(q.app.papersOf("studio left", "sRGB preset")[0], func(b []byte, err error) { file = b })
	q.settle()
	if string(file) != "a profile, as far as this test goes" {
		t.Errorf("the file of the paper is %q", file)
	}
	for name, at := range map[string]drawers{"a second time": empty, "where it came from": rows} {
		was := copied(at)
		q := reads(t, at)
		q.app.Opened("journal", "journal.json", b, nil)
		q.must("Everything in the file journal.json is here already")
		if q.app.journal.brought != nil || fmt.Sprint(was) != fmt.Sprint(at) {
			t.Errorf("%s, something was added", name)
		}
	}
}

// What does not agree is told, and nothing of it is lost on either side.
func TestBringConflicts(t *testing.T) {
	theirs := shelves(t)
	q := reads(t, theirs)
	v := q.chapter("Studio left, sRGB preset")
	q.app.Input("interval", "7")
	q.settle()
	q.press("sitting-baseline", "a2")
	q.app.Input("screen", "Left screen")
	q.press("rename", v.ID)
	b := exported(t, theirs)

	mine := drawers{}
	looked(t, mine, "a1", "studio left", "sRGB preset", start.AddDate(0, 0, -3), func(r *report.Record) { r.Conditions.Viewer = "Okke" }) // another sitting under the same id
	looked(t, mine, "c1", "studio left", "sRGB preset", start.AddDate(0, 0, -2), nil)
	p := reads(t, mine)
	p.chapter("Studio left, sRGB preset")
	p.app.Input("interval", "28")
	p.settle()
	p.press("sitting-baseline", "c1")
	was := copied(mine)
	p.app.Opened("", "journal.json", b, nil)
	p.must("says something else. Both are kept", "another interval between looks was chosen elsewhere", "another baseline was chosen elsewhere", "is called Studio left, sRGB preset here")
	p.press("bring", "")
	for _, d := range []string{Sittings, Judgements, Records} {
		for k, v := range was[d] {
			if !bytes.Equal(mine[d][k], v) {
				t.Errorf("%s/%s was replaced", d, k)
			}
		}
		if len(mine[d]) != len(was[d])+len(theirs[d]) {
			t.Errorf("%d rows of %s, should be %d and %d", len(mine[d]), d, len(was[d]), len(theirs[d]))
		}
	}
	var c *volume
	for _, x := range p.app.volumes() {
		if x.Mode == "sRGB preset" && x.Screen == "studio left" {
			c = x
		}
	}
	if c == nil || len(c.sittings) != 4 || c.Interval != 28 || c.Baseline != "c1" || !c.named(screenMode{"Left screen", "sRGB preset"}) {
		t.Errorf("%q, %+v", p.chapters(), c)
	}
	p.app.Opened("", "journal.json", b, nil)
	p.must("is here already")
	if p.app.journal.brought != nil {
		t.Error("the second time something is new")
	}
}

// A sitting that went on elsewhere goes on here; one that went on here stays as it is.
func TestBringFurther(t *testing.T) {
	long, short := drawers{}, drawers{}
	looked(t, long, "a1", "studio left", "", start, nil)
	looked(t, short, "a1", "studio left", "", start, func(r *report.Record) { r.Judgements = r.Judgements[:len(r.Judgements)-5] })
	file := exported(t, long)
	p := reads(t, short)
	p.app.Opened("", "journal.json", file, nil)
	p.must("went on elsewhere")
	p.others = map[string]bool{"a1": true}
	p.press("bring", "")
	p.must("open in another tab")
	p.others = nil
	p.press("bring", "")
	if !bytes.Equal(short[Records]["a1"], long[Records]["a1"]) || len(short[Judgements]) != len(long[Judgements]) {
		t.Error("what was added elsewhere is not here")
	}
	p.wantChapters("Studio left: a1")

	less := drawers{}
	looked(t, less, "a1", "studio left", "", start, func(r *report.Record) { r.Judgements = r.Judgements[:len(r.Judgements)-5] })
	p = reads(t, long)
	p.app.Opened("", "journal.json", exported(t, less), nil)
	p.must("is here already")
}

// What was not finished elsewhere is kept and nobody is asked about it. What is damaged there stays in the file, but for a report that is whole.
func TestBringUnfinished(t *testing.T) {
	theirs := released(t, 1)
	put(theirs, Sittings, "odd", []byte(`{"version":1`))
	put(theirs, Papers, "odd", []byte(`{"version":1`))
	looked(t, theirs, "half", "studio right", "", start, nil)
	delete(theirs[Judgements], "half/000003")
	mine := drawers{}
	p := reads(t, mine)
	p.app.Opened("", "journal.json", exported(t, theirs), nil)
	p.must("4 sittings", "2 things in it are damaged and are left in the file")
	p.press("bring", "")
	var names []string
	for _, v := range p.app.volumes() {
		names = append(names, v.called())
		if len(v.sittings) != 1 {
			t.Errorf("%s: %d sittings", v.called(), len(v.sittings))
		}
		if x := v.sittings[0]; v.Screen == "studio right" && (x.broken != "" || !bytes.Equal(x.record, theirs[Records]["half"])) {
			t.Errorf("the report that was whole: %s", x.broken)
		}
	}
	slices.Sort(names)
	if !slices.Equal(names, []string{"Kitchen laptop", "Packing-room tablet", "Studio left", "Studio right"}) || len(p.app.oddViews()) > 0 {
		t.Errorf("%q, %v", names, p.app.oddViews())
	}
	visit(t, world(), mine, "check", "").stage(Prepare)
	was := fmt.Sprint(mine)
	p = reads(t, mine)
	p.app.Opened("", "journal.json", exported(t, theirs), nil)
	p.must("Everything in the file journal.json is here already")
	if p.app.journal.brought != nil || fmt.Sprint(mine) != was {
		t.Error("the second time something is new")
	}
	// A sitting that is damaged here is whole again beside it.
	mine = drawers{}
	looked(t, mine, "half", "studio right", "", start, nil)
	delete(mine[Judgements], "half/000003")
	looked(t, theirs, "half", "studio right", "", start, nil)
	p = reads(t, mine)
	p.app.Opened("", "journal.json", exported(t, theirs), nil)
	p.must("4 sittings", "Both are kept")
	p.press("bring", "")
	whole := 0
	for _, x := range p.app.shelf.sittings {
		if x.broken == "" && bytes.Equal(x.record, theirs[Records]["half"]) {
			whole++
		}
	}
	if whole != 1 || mine[Records]["half"] == nil {
		t.Errorf("%d whole ones", whole)
	}
}

// Files that are no journal, are damaged, cut off or newer are refused in words, and nothing is changed.
func TestBringRefused(t *testing.T) {
	rows := shelves(t)
	b := exported(t, rows)
	change := func(old, new string) []byte { return bytes.Replace(b, []byte(old), []byte(new), 1) }
	resealed := func(edit func(f *journalFile)) []byte {
		var f journalFile
		if err := json.Unmarshal(b, &f); err != nil {
			t.Fatal(err)
		}
		edit(&f)
		f.Digest = rowsDigest(f.Rows)
		return encode(f)
	}
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"empty":            {nil, "neither a journal nor a record"},
		"no JSON":          {[]byte("apples"), "neither a journal nor a record"},
		"another file":     {[]byte(`{"kind":"plumb desk","version":1}`), "neither a journal nor a record"},
		"cut":              {b[:len(b)/2], "breaks off"},
		"cut at the end":   {b[:len(b)-3], "breaks off"},
		"newer":            {change(`"version":1`, `"version":2`), "newer version"},
		"a letter changed": {change("studio left", "studio lift"), "changed or damaged"},
		"a row gone":       {resealedWithout(t, b), "changed or damaged"},
		"a newer sitting": {resealed(func(f *journalFile) {
			for i, r := range f.Rows {
				if r.Drawer == Sittings {
					f.Rows[i].Value = strings.Replace(r.Value, `"version":1`, `"version":9`, 1)
				}
			}
		}), "newer version"},
		"a newer record": {resealed(func(f *journalFile) {
			for i, r := range f.Rows {
				if r.Drawer == Records {
					f.Rows[i].Value = strings.Replace(r.Value, fmt.Sprintf(`"version": %d`, report.Version), `"version": 99`, 1)
				}
			}
		}), "newer version"},
		"a newer screen": {resealed(func(f *journalFile) {
			f.Rows = append(f.Rows, fileRow{Screens, "x", `{"version":9}`})
		}), "newer version"},
		"a drawer of others": {resealed(func(f *journalFile) {
			f.Rows = append(f.Rows, fileRow{Requests, "x", `{}`})
		}), "changed or damaged"},
		"a row twice": {resealed(func(f *journalFile) { f.Rows = append(f.Rows, f.Rows[0]) }), "changed or damaged"},
	} {
		mine := drawers{}
		looked(t, mine, "z", "packing-room tablet", "", start, nil)
		was := fmt.Sprint(mine)
		p := reads(t, mine)
		p.app.Opened("journal", "file.json", c.file, nil)
		p.settle()
		if !p.reads(c.want) {
			t.Errorf("%s: %s", name, p.page["message"])
		}
		if p.app.journal.brought != nil || fmt.Sprint(mine) != was {
			t.Errorf("%s: something was taken", name)
		}
	}
	p := reads(t, drawers{})
	p.app.Opened("journal", "file.json", nil, errors.New("the disk is gone"))
	p.must("cannot be read: the disk is gone")
}

// resealedWithout is a journal that lost a row on its way.
func resealedWithout(t *testing.T, b []byte) []byte {
	var f journalFile
	if err := json.Unmarshal(b, &f); err != nil {
		t.Fatal(err)
	}
	f.Rows = f.Rows[1:]
	return encode(f)
}

// Where there is no room nothing of a journal is taken, and it can be tried again.
func TestBringFull(t *testing.T) {
	b := exported(t, shelves(t))
	mine := drawers{}
	p := reads(t, mine)
	p.app.Opened("", "journal.json", b, nil)
	p.refuse = ErrFull
	p.press("bring", "")
	p.must("Nothing was changed: the browser's storage is full", "Nothing is kept here yet")
	if len(mine) > 0 || len(p.app.shelf.sittings) > 0 {
		t.Fatal("half of it was taken")
	}
	p.refuse = nil
	p.app.Opened("", "journal.json", b, nil)
	p.press("bring", "")
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
}

// A saved record can be kept in the journal, once.
func TestBringRecord(t *testing.T) {
	rows := shelves(t)
	record := rows[Records]["b1"]
	mine := drawers{}
	p := reads(t, mine)
	p.app.Opened("", "record.json", record, nil)
	p.must("A record of a sitting")
	p.press("bring-open", "")
	p.stage(Report)
	p.press("journal", "")
	p.app.Opened("", "record.json", record, nil)
	p.press("bring", "")
	if len(p.app.volumes()) != 1 || len(mine[Records]) != 1 {
		t.Fatalf("%q", p.chapters())
	}
	for _, b := range mine[Records] {
		if !bytes.Equal(b, record) {
			t.Error("the record was written anew")
		}
	}
	p.app.Opened("", "record.json", record, nil)
	p.stage(Report) // it is here, so it is shown
	// Where the whole sitting is, its record is not a second one.
	p = reads(t, rows)
	p.app.Opened("", "record.json", record, nil)
	p.stage(Report)
	if len(rows[Records]) != 5 {
		t.Error("it is there twice")
	}
}

// Rows that cannot be read are shown and can be saved as they are; those of a newer version cannot be deleted here, and while there are any of screens nothing is changed.
func TestOddities(t *testing.T) {
	rows := shelves(t)
	put(rows, Screens, "half", []byte(`{"version":1,"id":"ha`))
	put(rows, Screens, "other", []byte(`{"version":1,"id":"one","counts":[{"screen":"x"}]}`))
	put(rows, Papers, "empty", []byte{})
	put(rows, Papers, "kind", []byte(`{"version":1,"id":"kind","kind":"profile"}`))
	put(rows, Sittings, "s", []byte(`{"version":`))
	put(rows, Records, "r", []byte(`{"version": 3`))
	delete(rows[Judgements], "b1/000001") // its record is whole
	p := reads(t, rows)
	p.must("Kept, and not to be read", "Save it as it was found")
	if n := len(p.app.oddViews()); n != 6 {
		t.Errorf("%d oddities: %v", n, p.app.oddViews())
	}
	p.wantChapters("Kitchen laptop: b1", "Laptop in the kitchen: b2", "Studio left, native: a3", "Studio left, sRGB preset: a1 a2")
	p.press("odd-save", Screens+"/half")
	saved := ""
	for _, b := range p.files {
		saved += string(b)
	}
	if !strings.Contains(saved, `{\"version\":1,\"id\":\"ha`) {
		t.Errorf("saved: %s", saved)
	}
	p.press("odd-delete", Papers+"/kind")
	if rows[Papers]["kind"] == nil {
		t.Fatal("deleted at once")
	}
	p.press("odd-delete", Papers+"/kind")
	p.press("odd-delete", "s")
	p.press("odd-delete", "s")
	if rows[Papers]["kind"] != nil || rows[Sittings]["s"] != nil || rows[Screens]["half"] == nil {
		t.Error("not deleted, or too much")
	}
	v := p.chapter("Kitchen laptop")
	p.must("Its report is whole")

	put(rows, Screens, "new", []byte(`{"version":2,"id":"new"}`))
	p = reads(t, rows)
	p.must("A newer version of this program wrote it")
	p.press("odd-delete", Screens+"/new")
	p.press("odd-delete", Screens+"/new")
	p.press("chapter", v.ID)
	p.must("nothing is changed here")
	p.app.Input("interval", "7")
	p.settle()
	if rows[Screens]["new"] == nil || len(rows[Screens]) != 3 {
		t.Errorf("screens: %v", rows[Screens])
	}
}

// toned sets what a sitting found of tone.
func toned(mean float64) func(*report.Record) {
	return func(r *report.Record) {
		for i := range r.Findings {
			if f := &r.Findings[i]; f.Aspect == check.Tone {
				f.Quantity, f.Verdict, f.Mean, f.Lo, f.Hi, f.AllowedLo, f.AllowedHi = "gamma", report.Holds, mean, mean-0.04, mean+0.04, 1.95, 2.35
			}
		}
	}
}

// What moved beyond the error bars is said and drawn as moved, where it was seen first; what did not is not; what cannot be compared says why.
func TestMovedScreen(t *testing.T) {
	rows := drawers{}
	day := func(n int) time.Time { return start.AddDate(0, 0, n-100) }
	looked(t, rows, "a1", "studio left", "", day(1), toned(2.2))
	p := reads(t, rows)
	p.chapter("Studio left")
	p.must("One sitting so far")
	looked(t, rows, "a2", "studio left", "", day(30), toned(2.21))
	p = reads(t, rows)
	p.chapter("Studio left")
	p.must("Two sittings can be held against each other so far")
	looked(t, rows, "a3", "studio left", "", day(60), toned(2.19))
	p = reads(t, rows)
	p.must("Nothing has moved beyond the error bars")
	p.chapter("Studio left")
	p.must("Nothing has moved by more than the error bars")
	looked(t, rows, "a4", "studio left", "", day(70), toned(2.55))
	looked(t, rows, "a5", "studio left", "", day(80), toned(2.54))
	looked(t, rows, "a6", "studio left", "", day(90), func(r *report.Record) {
		toned(2.2)(r)
		r.Plan.Aim = "wide"
	})
	p = reads(t, rows)
	p.must("Moved since the baseline: tone.")
	v := p.chapter("Studio left")
	p.must("Tone, gamma: moved, +0.3", "since 25 October 2026. The middle tones are darker.", "not held against the baseline; the figures say why", "The aims differ")
	tone := pages.Course{}
	for _, c := range p.app.chapterView(v).Courses {
		if strings.HasPrefix(c.Name, "Tone") {
			tone = c
		} else if c.Moved {
			t.Errorf("%s moved", c.Name)
		}
	}
	for i, x := range tone.Points {
		if x.Moved != (i == 3 || i == 4) || x.Baseline != (i == 0) || (x.Why != "") != (i == 5) {
			t.Errorf("point %d: %+v", i, x)
		}
	}
	// Against a baseline after the move there is none.
	p.press("sitting-baseline", "a4")
	p.must("Two sittings can be held against each other so far", "It was before the baseline")
	// A sitting that cannot be used is listed and not watched.
	looked(t, rows, "a7", "studio left", "", day(95), func(r *report.Record) { r.Void = []string{"Three of six easy questions were missed."} })
	p = reads(t, rows)
	p.chapter("Studio left")
	p.must("This sitting can't be used")
	if n := len(p.app.volume(v.ID).usable()); n != 6 {
		t.Errorf("%d sittings are watched", n)
	}
}

// Before a sitting a screen that is known is chosen from a list, and what the journal knows of it is said.
func TestKnownScreens(t *testing.T) {
	rows := shelves(t)
	p := reads(t, rows)
	v := p.chapter("Studio left, sRGB preset")
	p.app.Input("interval", "28")
	p.settle()
	p = visit(t, world(), rows, "check", "")
	p.stage(Prepare)
	p.must(`<option value="0">Laptop in the kitchen</option>`, "Studio left, sRGB preset</option>")
	if p.reads("Last looked at") {
		t.Error("something is known of a screen without a name")
	}
	at := -1
	for i, n := range p.app.screensKnown() {
		if n == v.screenMode {
			at = i
		}
	}
	p.app.Input("known", fmt.Sprint(at))
	p.must("A look has been due since 13 October 2026", `value="studio left"`, `value="sRGB preset"`)
	p.app.Input("mode", "native")
	p.must("Last looked at 60 days ago.")
	p.app.Input("mode", "cinema")
	p.must("New to the journal. This screen was last looked at 60 days ago, in the mode \"native\".")
	for _, bad := range []string{"99", "-1", "x"} {
		p.app.Input("known", bad)
		if p.app.form.screen != "" || p.app.form.mode != "" {
			t.Errorf("%s is %q in %q", bad, p.app.form.screen, p.app.form.mode)
		}
	}
	p.app.Input("screen", "kitchen  LAPTOP")
	p.must("Last looked at 50 days ago.")
	p.toIntro()
	p.finish()
	if c := p.app.shown.record.Conditions; c.Screen != "kitchen LAPTOP" || c.Mode != "" {
		t.Errorf("recorded as %q in %q", c.Screen, c.Mode)
	}
	p.pass(time.Second)
	p.must(`href="/journal?screen=kitchen+LAPTOP"`)
	p = reads(t, rows)
	for _, v := range p.app.volumes() {
		if v.called() == "Kitchen laptop" && len(v.sittings) != 2 {
			t.Errorf("%d sittings at the kitchen laptop", len(v.sittings))
		}
	}
}

// Two rows that claim one name, as two tabs of an older program might have left them, give it to the first, in every tab alike; no sitting is shown twice or lost.
func TestRivals(t *testing.T) {
	rows := shelves(t)
	n := screenMode{"studio left", "native"}
	for _, id := range []string{"y", "x"} {
		c := chapter{Version: 1, ID: id, screenMode: screenMode{"Left " + id, ""}, Counts: []screenMode{n}, Sittings: []string{"b1"}}
		put(rows, Screens, id, encode(c))
	}
	p := reads(t, rows)
	p.wantChapters("Laptop in the kitchen: b2", "Left x: a3 b1", "Left y:", "Studio left, sRGB preset: a1 a2")
}

// What is kept of a paper, and its file apart from it.
func TestPapers(t *testing.T) {
	rows := shelves(t)
	file := []byte("what a profile is made of")
	paperOf(t, rows, "studio left", "sRGB preset", "june.icc", file)
	paperOf(t, rows, "studio left", "sRGB preset", "june.icc", file)
	if len(rows[Papers]) != 1 || len(rows[Files]) != 1 {
		t.Fatalf("%d papers, %d files", len(rows[Papers]), len(rows[Files]))
	}
	p := reads(t, rows)
	list := p.app.papersOf("Studio Left", "sRGB  preset")
	if len(list) != 1 || list[0].Kind != profilePaper || !list[0].Whole || len(p.app.papersOf("studio left", "native")) != 0 {
		t.Fatalf("%+v", list)
	}
	p.chapter("Studio left, sRGB preset")
	p.must("june.icc", "Profile", "Studio left, June")
	p.press("paper-save", list[0].ID)
	if string(p.files["june.icc"]) != string(file) {
		t.Errorf("saved %q", p.files)
	}
	// A file that was changed where it lies is not passed for what it was.
	rows[Files][list[0].ID] = bytes.Replace(rows[Files][list[0].ID], []byte(`"bytes":"d2`), []byte(`"bytes":"e2`), 1)
	p = reads(t, rows)
	p.chapter("Studio left, sRGB preset")
	p.press("paper-save", list[0].ID)
	p.must("damaged")
	p.press("save-journal", "")
	p.press("overview", "")
	p.press("save-journal", "")
	p.must("Saved, but not whole: the file june.icc could not be read")
	p.chapter("Studio left, sRGB preset")
	p.press("paper-delete", list[0].ID)
	p.press("paper-delete", list[0].ID)
	if len(rows[Papers])+len(rows[Files]) > 0 {
		t.Errorf("left: %v %v", rows[Papers], rows[Files])
	}

	// A large file is known by what was found in it.
	p = reads(t, rows)
	x := &paper{Screen: "studio left", Name: "large.icc", File: make([]byte, mostFile+1), Paper: study.Paper{Readings: &study.Readings{}}}
	p.app.keepPaper(x, nil)
	p.settle()
	if x.Whole || len(rows[Papers]) != 1 || len(rows[Files]) != 0 || x.Kind != readingsPaper {
		t.Errorf("%+v", x.Whole)
	}
	x.File = nil
	p.app.paperFile(x, func(b []byte, err error) {
		if !errors.Is(err, errNoFile) {
			t.Errorf("%d bytes, %v", len(b), err)
		}
	})
}

// What is kept of a paper is kept whole or not at all, and a full storage is told.
func TestPaperFull(t *testing.T) {
	rows := drawers{}
	p := reads(t, rows)
	p.refuse = ErrFull
	var err error
	p.app.keepPaper(&paper{Screen: "studio left", Name: "june.icc", File: []byte("x"), Paper: study.Paper{Profile: &study.Profile{}}}, func(e error) { err = e })
	p.settle()
	if !errors.Is(err, ErrFull) || len(rows) > 0 || len(p.app.papersOf("studio left", "")) > 0 || p.app.shelf.err != nil {
		t.Errorf("%v, %v", err, rows)
	}
	p.refuse = nil
	p.pass(time.Minute)
	if len(rows) > 0 {
		t.Error("it was tried again by itself")
	}
}

// Rows of any content open and never panic.
func FuzzJournal(f *testing.F) {
	f.Add([]byte(`{"version":1,"id":"a","screen":"x","counts":[{}],"kind":"profile","paper":{"Profile":{}}}`), []byte(`{"version":1,"kind":"plumb journal","digest":"","rows":[]}`))
	f.Add([]byte(`{"version":2}`), []byte(`{}`))
	f.Fuzz(func(t *testing.T, row, file []byte) {
		rows := drawers{}
		for _, d := range []string{Screens, Papers, Files, Sittings, Records} {
			put(rows, d, "a", row)
		}
		put(rows, Judgements, "a/000000", row)
		p := visit(t, world(), rows, "journal", "")
		for _, v := range p.app.volumes() {
			p.press("chapter", v.ID)
		}
		p.app.Opened("", "f", file, nil)
		var list []fileRow
		for _, d := range journalDrawers {
			list = append(list, fileRow{d, "b", string(row)})
		}
		p.press("overview", "")
		p.app.Opened("", "f", encode(journalFile{Version: 1, Kind: journalKind, Digest: rowsDigest(list), Rows: list}), nil)
		p.press("bring", "")
	})
}

func sum(b []byte) study.Digest { return study.Digest(sha256.Sum256(b)) }
