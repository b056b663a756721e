package pages

import (
	"strings"
	"testing"
)

func init() { golden["tour"] = TourPage(Site{TourRecord: "/orchard-record.txt"}) }

// The tour leads to every job, says that it is made up, and has nothing that would need the program.
func TestTour(t *testing.T) {
	text := render(t, TourPage(Site{}))
	for _, to := range []string{"/ask", "/check", "/proof", "/record", "/journal", "/after", "/example"} {
		if to != "/record" && !strings.Contains(text, `href="`+to+`"`) {
			t.Errorf("the tour leads nowhere near %s", to)
		}
	}
	if !strings.Contains(text, "All of it is made up") || strings.Contains(text, "data-action") || strings.Contains(text, "download=") {
		t.Error("the tour does not say that it is made up, or has what does nothing")
	}
	for _, s := range stations() {
		if strings.Count(text, `id="`+s.id+`"`) != 1 || !strings.Contains(text, `href="#`+s.id+`"`) {
			t.Errorf("station %s is not there once, or nothing leads to it", s.id)
		}
	}
	if !tourChapter().Courses[0].drawn() {
		t.Error("the plot of the journal is not drawn")
	}
	if with := render(t, TourPage(Site{TourRecord: "/orchard-record.txt"})); !strings.Contains(with, `href="/record"`) || !strings.Contains(with, `href="/orchard-record.txt" download`) {
		t.Error("the record is not given away")
	}
}
