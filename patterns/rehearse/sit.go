package main

import (
	"image"
	"math/rand/v2"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
)

// frame is the size of the frames of a rehearsal, device pixels: small, because a virtual viewer sees no better on a larger one.
var frame = image.Rect(0, 0, 640, 400)

// start is the time at which every rehearsal begins, so that the same seed gives the same record.
var start = time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)

// sit runs one whole sitting of a viewer of a kind at a screen, through the same frames and presses as in a browser. after, where it is not nil, is
// called after every judgement.
func sit(d display.Description, kind observer.Kind, plan check.Plan, after func(*check.Sitting)) (*check.Sitting, report.Record) {
	screen := d.Model()
	viewer := observer.New(kind, &screen, rand.New(rand.NewPCG(plan.Seed, 0x766965776572)))
	return attend(d, viewer, plan, after)
}

// attend is sit by a viewer who is there already.
func attend(d display.Description, viewer *observer.Viewer, plan check.Plan, after func(*check.Sitting)) (*check.Sitting, report.Record) {
	s, err := check.Begin(plan)
	if err != nil {
		panic("rehearse: internal error: " + err.Error())
	}
	dst := image.NewRGBA(frame)
	now, shown := start, start
	for {
		p, ok := s.Present(dst.Rect)
		if !ok {
			break
		}
		s.Frame(dst)
		var key string
		if p.Kind == check.Setting {
			now = now.Add(500 * time.Millisecond)
			key = p.Choices[map[int]int{1: 0, -1: 1, 0: 2}[viewer.Adjust(dst, p.Choices[0].Rect, p.Choices[2].Rect)]].Key
		} else {
			now = now.Add(viewer.Time())
			key = p.Choices[answer(viewer, dst, p)].Key
		}
		if s.Press(key, now, now.Sub(shown)) != check.Adjusted {
			now = now.Add(400 * time.Millisecond)
			shown = now
			if after != nil {
				after(s)
			}
		}
	}
	c := report.Conditions{
		Started: start.UnixMilli(), Ended: now.UnixMilli(), Width: frame.Dx(), Height: frame.Dy(), PixelRatio: 1, Exact: true, Browser: "rehearsal", Profile: "honoured",
	}
	if !d.Managed {
		c.Profile = "ignored"
	}
	return s, report.Of(s, c, "rehearsal")
}

// answer returns the index of the viewer's choice.
func answer(v *observer.Viewer, dst *image.RGBA, p check.Presentation) int {
	n := len(p.Choices) - 1 // the last is "can't tell"
	rects := make([]image.Rectangle, n)
	for i := range rects {
		rects[i] = p.Choices[i].Rect
	}
	at, known := v.Answer(string(p.Task), dst, rects, p.Wide)
	if !known {
		panic("rehearse: internal error: no viewer knows the task " + string(p.Task))
	}
	if at == observer.CantTell {
		return n
	}
	return at
}
