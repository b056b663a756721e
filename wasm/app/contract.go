package app

import (
	"encoding/json"

	"example.org/plumb/patterns/check"
	"example.org/plumb/web/words"
)

type rect struct {
	X      int `json:"x"`
	Y      int `json:"y"`
	Width  int `json:"width"`
	Height int `json:"height"`
}

type choice struct {
	Key   string `json:"key"`
	Label string `json:"label"`
	Rect  rect   `json:"rect"`
}

// presentation is what data-presentation says while p is on the canvas: enough to answer it from outside, and nothing about what was painted. The question
// and the labels are in the language spoken; check, task and keys are the same in all of them.
// Rects are in pixels of the canvas; that of a choice which is nowhere on it is all zero.
func presentation(seq int, p check.Presentation) string {
	v := struct {
		Seq      int          `json:"seq"`
		Check    check.Aspect `json:"check"`
		Task     check.Task   `json:"task"`
		Question string       `json:"question"`
		Choices  []choice     `json:"choices"`
	}{Seq: seq, Check: p.Check, Task: p.Task, Question: words.Found(p.Question)}
	for _, c := range p.Choices {
		v.Choices = append(v.Choices, choice{c.Key, words.Found(c.Label), rect{c.Rect.Min.X, c.Rect.Min.Y, c.Rect.Dx(), c.Rect.Dy()}})
	}
	b, err := json.Marshal(v)
	if err != nil {
		panic("app: a presentation cannot be written as JSON: " + err.Error())
	}
	return string(b)
}
