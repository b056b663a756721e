package app

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"
	"sort"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// A journalFile is a journal, or a part of one, outside its browser: rows as they lie on the shelf, each value as the text that it is.
type journalFile struct {
	Version int       `json:"version"`
	Kind    string    `json:"kind"`
	Program string    `json:"program"`
	Made    int64     `json:"made"`   // ms since 1970 UTC
	Digest  string    `json:"digest"` // see rowsDigest
	Rows    []fileRow `json:"rows"`
}

type fileRow struct {
	Drawer string `json:"drawer"`
	Key    string `json:"key"`
	Value  string `json:"value"`
}

const (
	journalKind = "plumb journal"
	journals    = 1 // the revision of a journalFile
)

// journalDrawers are what a journal is made of.
var journalDrawers = []string{Sittings, Judgements, Records, Screens, Papers, Files}

// rowsDigest is the SHA-256 of all rows in their order: of drawer, key and value, each behind its length in bytes as eight bytes, the highest first. In hexadecimal.
func rowsDigest(rows []fileRow) string {
	h := sha256.New()
	for _, r := range rows {
		for _, s := range []string{r.Drawer, r.Key, r.Value} {
			var n [8]byte
			binary.BigEndian.PutUint64(n[:], uint64(len(s)))
			h.Write(n[:])
			h.Write([]byte(s))
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

// exportJournal hands chapters to the person as one file, or all of the journal, with what in it cannot be read. What is on the shelf now counts, byte for byte.
func (a *App) exportJournal(list []*volume, all bool) {
	j := &a.journal
	wanted := map[string]bool{} // sittings, papers and chapters by drawer, "/" and id
	for _, v := range list {
		wanted[Screens+"/"+v.ID] = true
		for _, x := range v.sittings {
			for _, d := range []string{Sittings, Judgements, Records} {
				wanted[d+"/"+x.ID] = true
			}
		}
		for _, p := range v.papers {
			wanted[Papers+"/"+p.ID] = true
		}
	}
	called := ""
	if !all {
		called = list[0].Screen
	}
	a.say(words.Say("The file is being made."))
	j.read = func(rows []Row, err error) {
		if err != nil {
			a.say(words.Say("The journal cannot be saved: %s.", words.Found(err.Error())))
			return
		}
		f := &journalFile{Version: journals, Kind: journalKind, Program: a.program, Made: a.host.Clock.Wall().UnixMilli()}
		var files []string
		for _, r := range rows {
			id, _, _ := strings.Cut(r.Key, "/")
			if !slices.Contains(journalDrawers, r.Drawer) || !all && !wanted[r.Drawer+"/"+id] {
				continue
			}
			f.Rows = append(f.Rows, fileRow{r.Drawer, r.Key, string(r.Value)})
			if r.Drawer == Papers {
				files = append(files, r.Key)
			}
		}
		a.exportFiles(f, files, called, nil)
	}
	a.reread()
}

// exportFiles fetches the files of papers one after the other, and then saves all. Lost are the names of those that could not be fetched.
func (a *App) exportFiles(f *journalFile, files []string, called string, lost []string) {
	if len(files) == 0 {
		f.Digest = rowsDigest(f.Rows)
		a.host.Desk.Save(fileName(called, f.Made, "journal", "json"), "application/json", append(encode(f), '\n'))
		said := words.Say("Saved. The file holds what was found of your screens, with each single answer: give it to those who may see that.")
		if len(lost) > 0 {
			said = words.Say("Saved, but not whole: %s could not be read. What was found in it is in the file all the same.", listed(lost))
		}
		if a.stage == Journal {
			a.say(said)
		}
		return
	}
	p := a.journal.book.paper(files[0])
	if p == nil || !p.Whole {
		a.exportFiles(f, files[1:], called, lost)
		return
	}
	a.getRow(Files, p.ID, func(value []byte, err error) {
		if err == nil {
			_, err = fileOf(p, value)
		}
		if err != nil {
			lost = append(lost, words.Say("the file %s", p.Name))
		} else {
			f.Rows = append(f.Rows, fileRow{Files, p.ID, string(value)})
		}
		a.exportFiles(f, files[1:], called, lost)
	})
}

// Why a file is no journal.
var (
	errNoJournal  = errors.New("it is neither a journal nor a record of a sitting")
	errCutJournal = errors.New("it breaks off before its end; save or copy it again from where it came")
	errBadJournal = errors.New("it is not as it was saved: something in it was changed or damaged on the way, so nothing of it is taken")
	errNewJournal = errors.New("a newer version of this program wrote it; load the page again to get that version, then open it once more")
)

// readJournal reads the file of a journal. What is damaged is refused as a whole.
func readJournal(b []byte) ([]Row, error) {
	var head struct {
		Version int    `json:"version"`
		Kind    string `json:"kind"`
	}
	if err := json.Unmarshal(b, &head); err != nil {
		var s *json.SyntaxError
		if errors.As(err, &s) && s.Error() == "unexpected end of JSON input" && bytes.Contains(b[:min(len(b), 200)], []byte(journalKind)) {
			return nil, errCutJournal
		}
		return nil, errNoJournal
	}
	switch {
	case head.Kind != journalKind || head.Version < 1:
		return nil, errNoJournal
	case head.Version > journals:
		return nil, errNewJournal
	}
	var f journalFile
	if json.Unmarshal(b, &f) != nil || f.Digest != rowsDigest(f.Rows) {
		return nil, errBadJournal
	}
	rows := make([]Row, 0, len(f.Rows))
	seen := map[[2]string]bool{}
	for _, r := range f.Rows {
		at := [2]string{r.Drawer, r.Key}
		if !slices.Contains(journalDrawers, r.Drawer) || r.Key == "" || seen[at] {
			return nil, errBadJournal
		}
		seen[at] = true
		rows = append(rows, Row{r.Drawer, r.Key, []byte(r.Value)})
	}
	// As a shelf passes them on.
	sort.SliceStable(rows, func(i, j int) bool {
		x, y := &rows[i], &rows[j]
		if a, b := slices.Index(journalDrawers, x.Drawer), slices.Index(journalDrawers, y.Drawer); a != b {
			return a < b
		}
		return x.Key < y.Key
	})
	return rows, nil
}

// bringing is a journal from elsewhere that waits to be taken in.
type bringing struct {
	rows     []Row
	further  []*stored // sittings here that went on elsewhere
	sittings int
	papers   int
	chapters int
	same     int      // sittings and papers that are here already
	told     []string // what does not agree, in sentences
	record   []byte   // a single record and no journal
}

// journalFile takes a file that was chosen or dropped: a journal from elsewhere, or a saved record.
func (a *App) journalFile(name string, b []byte, err error) {
	name = line(name)
	if err != nil {
		a.say(words.Say("The file %s cannot be read: %s.", name, words.Found(err.Error())))
		return
	}
	if why := a.fixed(); why != "" {
		a.say(why)
		return
	}
	rows, err := readJournal(b)
	var alone []byte
	if errors.Is(err, errNoJournal) {
		var r report.Record
		switch r, err = report.Read(b); {
		case err == nil:
			rows, alone = recordRows(r, b), b
		case !bytes.Contains(b, []byte(`"judgements"`)): // that every record has
			err = errNoJournal
		}
	}
	var p *bringing
	if err == nil {
		p, err = a.planned(rows)
	}
	if err != nil {
		a.say(words.Say("The file %s cannot be taken: %s. Nothing here was changed.", name, words.Found(reason(err))))
		return
	}
	p.record = alone
	if len(p.rows) == 0 {
		if alone != nil {
			a.open(alone, nil)
			return
		}
		a.say(words.Say("Everything in the file %s is here already.", name) + spaced(p.told))
		return
	}
	a.journal.brought = p
	a.refill("journal", pages.JournalBrought(p.notice(name)))
}

func spaced(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return " " + strings.Join(list, " ")
}

// notice says what would be taken in.
func (p *bringing) notice(name string) pages.Notice {
	if p.record != nil {
		return pages.Notice{
			Title: words.Say("A record of a sitting"), Lead: words.Say("It is not in this journal."),
			Buttons: []pages.Button{{Action: "bring", Label: words.Say("Keep it in the journal"), Main: true}, {Action: "bring-open", Label: words.Say("Only open it")}, {Action: "overview", Label: words.Say("Leave it")}},
		}
	}
	var list []string
	if p.sittings > 0 {
		list = append(list, words.Some(p.sittings, "%d sitting", "%d sittings"))
	}
	if p.papers > 0 {
		list = append(list, words.Some(p.papers, "%d profile or file of readings", "%d profiles and files of readings"))
	}
	if n := len(p.further); n > 0 {
		list = append(list, words.Some(n, "%d sitting that went on elsewhere", "%d sittings that went on elsewhere"))
	}
	if p.chapters > 0 {
		list = append(list, words.Some(p.chapters, "what was decided about %d screen", "what was decided about %d screens"))
	}
	n := pages.Notice{Title: words.Say("A journal from elsewhere"), Lead: words.Say("New in the file %s: %s.", name, listed(list)), Text: p.told}
	if p.same > 0 {
		n.Text = append([]string{words.Some(p.same, "%d sitting or paper is here already, and not doubled.", "%d sittings and papers are here already, and not doubled.")}, n.Text...)
	}
	n.Text = append(n.Text, words.Say("All of it is kept here, or none where there is no room. What is here already stays."))
	n.Buttons = []pages.Button{{Action: "bring", Label: words.Say("Keep it here"), Main: true}, {Action: "overview", Label: words.Say("Leave it")}}
	return n
}

// bringJournal takes in what was brought.
func (a *App) bringJournal() {
	p := a.journal.brought
	if p == nil {
		return
	}
	said := words.Say("It is in the journal now.")
	a.free(p.further, func() {
		a.journal.brought = nil
		a.journal.open = ""
		a.change(said, p.rows...)
	})
}

// recordRows are the rows of a sitting whose record was saved.
func recordRows(r report.Record, b []byte) []Row {
	sum := sha256.Sum256(b)
	h := heading{
		Version: headings, ID: "record-" + hex.EncodeToString(sum[:8]), Program: r.Program, State: finished, Plan: r.Plan, Conditions: r.Conditions,
		Touched: r.Conditions.Ended, Done: len(r.Judgements), Total: len(r.Judgements),
	}
	rows := []Row{{Sittings, h.ID, encode(h)}}
	for i, j := range r.Judgements {
		rows = append(rows, Row{Judgements, h.ID + "/" + place(i), encode(j)})
	}
	return append(rows, Row{Records, h.ID, b})
}

// planned works out what of a journal from elsewhere is new here, and what does not agree. Nothing of it replaces what is here, but for a sitting that went on elsewhere.
func (a *App) planned(rows []Row) (*bringing, error) {
	p := new(bringing)
	theirs, book := sorted(rows), bookOf(rows)
	if slices.ContainsFunc(book.odd, func(o oddity) bool { return o.newer }) {
		return nil, errNewJournal
	}
	renamed := map[string]string{} // their ids of sittings that have another id here
	unread := len(book.odd)
	for _, x := range theirs {
		own := rowsOf(x.ID, rows)
		r := x.read()
		switch {
		case x.Version > headings || r == nil && errors.Is(x.reading.err, report.ErrNewer):
			return nil, errNewJournal
		case x.broken != "" && r == nil:
			unread++
			continue
		case x.broken != "": // its report is whole
			own = recordRows(*r, x.record)
			y := sorted(own)[0]
			renamed[x.ID], x = y.ID, y
		}
		mine := a.shelf.find(x.ID)
		for _, y := range a.shelf.sittings {
			if mine == nil && len(x.record) > 0 && bytes.Equal(x.record, y.record) { // the same under another id
				mine, renamed[x.ID] = y, y.ID
			}
		}
		if mine == nil {
			p.sittings++
			p.rows = append(p.rows, x.under(x.ID, own)...)
			continue
		}
		switch how := mine.beside(x); how {
		case sameSitting, laterSitting:
			p.same++
		case earlierSitting:
			p.further = append(p.further, mine)
			p.rows = append(p.rows, x.under(x.ID, own)...)
			p.told = append(p.told, words.Say("The sitting of %s went on elsewhere: what was added there is added here.", day(a.zoned(mine.ended()))))
		default:
			sum := sha256.Sum256(append(encode(x.log), x.record...))
			id := x.ID + "-" + hex.EncodeToString(sum[:4])
			renamed[x.ID] = id
			if a.shelf.find(id) != nil {
				p.same++
				continue
			}
			p.sittings++
			p.rows = append(p.rows, x.under(id, own)...)
			p.told = append(p.told, words.Say("The sitting of %s is here already and says something else. Both are kept.", day(a.zoned(x.ended()))))
		}
	}
	p.planPapers(&a.journal.book, &book, rows)
	p.planChapters(&a.journal.book, &book, renamed, a.host.Clock.Wall().UnixMilli())
	if unread > 0 {
		p.told = append(p.told, words.Some(unread, "%d thing in it is damaged and is left in the file.", "%d things in it are damaged and are left in the file."))
	}
	return p, nil
}

// zoned is a moment in the zone of the clock.
func (a *App) zoned(ms int64) time.Time { return time.UnixMilli(ms).In(a.host.Clock.Wall().Location()) }

// rowsOf are a sitting's rows.
func rowsOf(id string, rows []Row) (list []Row) {
	for _, r := range rows {
		if of, _, _ := strings.Cut(r.Key, "/"); of == id && (r.Drawer == Sittings || r.Drawer == Judgements || r.Drawer == Records) {
			list = append(list, r)
		}
	}
	return list
}

// under are a sitting's rows under another id. What is not finished is set aside, so that nobody is asked about it.
func (s *stored) under(id string, rows []Row) []Row {
	var list []Row
	for _, r := range rows {
		if r.Drawer == Sittings && (id != s.ID || s.State == open) {
			h := s.heading
			h.ID = id
			if h.State == open {
				h.State = aside
			}
			r.Value = encode(h)
		}
		list = append(list, Row{r.Drawer, id + strings.TrimPrefix(r.Key, s.ID), r.Value})
	}
	return list
}

// How a sitting here stands to the same one from elsewhere.
const (
	otherSitting   = iota // they say different things
	sameSitting           //
	earlierSitting        // the one from elsewhere went on
	laterSitting          // the one here went on
)

func (s *stored) beside(x *stored) int {
	if s.broken != "" {
		return otherSitting
	}
	n := min(len(s.log), len(x.log))
	switch {
	case s.Plan.Seed != x.Plan.Seed || s.Plan.Aim != x.Plan.Aim || !slices.Equal(s.log[:n], x.log[:n]):
		return otherSitting
	case len(x.log) > n && (len(x.record) > 0 || len(s.record) == 0):
		return earlierSitting
	case len(s.log) > n && (len(s.record) > 0 || len(x.record) == 0):
		return laterSitting
	case len(s.log) == len(x.log) && bytes.Equal(s.record, x.record):
		return sameSitting
	case len(s.log) == len(x.log) && len(x.record) == 0:
		return laterSitting
	case len(s.log) == len(x.log) && len(s.record) == 0:
		return earlierSitting
	}
	return otherSitting
}

// has tells whether there is a row.
func (b *book) has(drawer, key string) bool {
	return slices.ContainsFunc(b.odd, func(o oddity) bool { return o.Drawer == drawer && o.Key == key }) ||
		drawer == Screens && slices.ContainsFunc(b.chapters, func(c *chapter) bool { return c.ID == key }) ||
		drawer == Papers && b.paper(key) != nil
}

// planPapers plans papers that are not here, and files that are missing here.
func (p *bringing) planPapers(mine, theirs *book, rows []Row) {
	files := map[string][]byte{}
	for _, r := range rows {
		if r.Drawer == Files {
			files[r.Key] = r.Value
		}
	}
	for _, x := range slices.Backward(theirs.papers) { // the earliest first
		whole := false
		if x.Whole {
			if _, err := fileOf(x, files[x.ID]); err == nil {
				whole = true
			} else {
				p.told = append(p.told, words.Say("The file %s is not in it, or damaged; what was found in it is.", seen(x.Name)))
			}
		}
		if was := mine.paper(x.ID); was != nil && (was.Whole || !whole) || was == nil && mine.has(Papers, x.ID) {
			p.same++
			continue
		}
		x.Whole = whole
		p.papers++
		p.rows = append(p.rows, Row{Papers, x.ID, encode(x)})
		if whole {
			p.rows = append(p.rows, Row{Files, x.ID, files[x.ID]})
		}
	}
}

// planChapters plans what was decided elsewhere about screens. The same screen is the one that shares a name. Where both decided something, what was decided here stays, and
// it is told.
func (p *bringing) planChapters(mine, theirs *book, renamed map[string]string, now int64) {
	list := make([]*chapter, len(mine.chapters))
	before := map[*chapter]string{} // as it was, or empty
	for i, c := range mine.chapters {
		list[i] = c.copied()
		before[list[i]] = string(encode(c))
	}
	for _, x := range theirs.chapters {
		x = x.copied()
		here := func(ids []string) (own []string) {
			for _, id := range ids {
				if to := renamed[id]; to != "" {
					id = to
				}
				if !slices.ContainsFunc(list, func(c *chapter) bool { return slices.Contains(c.Sittings, id) || slices.Contains(c.Papers, id) }) {
					own = append(own, id)
				}
			}
			return own
		}
		if to := renamed[x.Baseline]; to != "" {
			x.Baseline = to
		}
		var same []*chapter
		for _, c := range list {
			if slices.ContainsFunc(x.Counts, func(n screenMode) bool { return c.counts(n.key()) }) {
				same = append(same, c)
			}
		}
		if len(same) == 0 {
			for slices.ContainsFunc(list, func(c *chapter) bool { return c.ID == x.ID }) || mine.has(Screens, x.ID) {
				x.ID += "x"
			}
			x.Sittings, x.Papers = here(x.Sittings), here(x.Papers)
			list = append(list, x)
			continue
		}
		c := same[0]
		if len(same) > 1 {
			p.told = append(p.told, words.Say("Elsewhere %s is one screen with others that stand by themselves here. They are left as they are here: merge them if they are one.", x.called()))
		}
		if c.screenMode != x.screenMode {
			p.told = append(p.told, words.Say("%s is called %s here, and stays so.", x.called(), c.called()))
		}
		for _, n := range x.Counts {
			if !slices.ContainsFunc(list, func(c *chapter) bool { return c.counts(n.key()) }) {
				c.add(n)
			}
		}
		c.Sittings, c.Papers = join(c.Sittings, here(x.Sittings)), join(c.Papers, here(x.Papers))
		switch {
		case c.Interval == 0:
			c.Interval = x.Interval
		case x.Interval != 0 && x.Interval != c.Interval:
			p.told = append(p.told, words.Say("For %s another interval between looks was chosen elsewhere. The one chosen here stays.", c.called()))
		}
		switch {
		case c.Baseline == "":
			c.Baseline = x.Baseline
		case x.Baseline != "" && x.Baseline != c.Baseline:
			p.told = append(p.told, words.Say("For %s another baseline was chosen elsewhere. The one chosen here stays.", c.called()))
		}
	}
	for _, c := range list {
		if before[c] != string(encode(c)) {
			p.chapters++
			if before[c] != "" {
				c.Changed = now
			}
			p.rows = append(p.rows, Row{Screens, c.ID, encode(c)})
		}
	}
}
