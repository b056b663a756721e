//go:build js

// Command looker is the program that looks at pictures, and at what a calibration left, beside the page: it runs in a worker, takes tasks of package study and decides nothing.
//
// The browser decodes, so that what is judged is what the page shows. Pixels come in bands; a picture is never in this program's memory as a whole, but for a TIFF
// that is made into a PNG.
package main

import (
	"errors"
	"syscall/js"

	"example.org/plumb/wasm/study"
)

// hand is what this program has of the browser; see looker.js.
var hand = js.Global().Get("hand")

// times tell how long the parts of a task took, in ms.
type times map[string]any

// time adds the time that f takes to a part.
func (t times) time(part string, f func()) {
	began := hand.Call("now").Float()
	f()
	was, _ := t[part].(float64)
	t[part] = was + hand.Call("now").Float() - began
}

// A job is a task that is being done.
type job struct {
	n       int
	task    study.Task
	picture js.Value // a Blob, or undefined for a file that travels in the task
	made    js.Value // a Blob, or undefined
	times   times
	told    int // per cent
}

// far tells how far the job is, 0 to 1.
func (j *job) far(share float64) {
	if p := int(100 * share); p > j.told {
		j.told = p
		hand.Call("say", map[string]any{"n": j.n, "share": share})
	}
}

func (j *job) run() (study.Found, error) {
	switch j.task.What {
	case study.Examine:
		return j.examine()
	case study.Hide:
		return j.hide()
	case study.See:
		return j.see()
	case study.Describe:
		return j.task.Describe(), nil
	}
	return study.Found{}, errors.New("looker: no such task")
}

func main() {
	js.Global().Set("look", js.FuncOf(func(_ js.Value, args []js.Value) any {
		n, text, picture := args[0].Int(), args[1].String(), args[2]
		go func() {
			j := &job{n: n, picture: picture, made: js.Undefined(), times: times{}}
			found, err := do(j, text)
			hand.Call("close")
			if err != nil {
				hand.Call("say", map[string]any{"n": n, "error": err.Error()})
				return
			}
			j.times["memory"] = hand.Call("memory").Float()
			hand.Call("say", map[string]any{"n": n, "found": string(found), "made": j.made, "times": map[string]any(j.times)})
		}()
		return nil
	}))
	select {}
}

// do does a job and returns the answer as JSON. What the browser throws is an error.
func do(j *job, text string) (answer []byte, err error) {
	defer func() {
		if r := recover(); r != nil {
			thrown, ok := r.(js.Error)
			if !ok {
				panic(r)
			}
			err = thrown
		}
	}()
	if j.task, err = study.ReadTask([]byte(text)); err != nil {
		return nil, err
	}
	found, err := j.run()
	if err != nil {
		return nil, err
	}
	return found.Marshal()
}

// await waits until a promise is settled.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		value js.Value
		err   error
	}
	settled := make(chan outcome, 1)
	first := func(args []js.Value) js.Value {
		if len(args) == 0 {
			return js.Undefined()
		}
		return args[0]
	}
	kept := js.FuncOf(func(_ js.Value, args []js.Value) any { settled <- outcome{first(args), nil}; return nil })
	defer kept.Release()
	broken := js.FuncOf(func(_ js.Value, args []js.Value) any {
		settled <- outcome{js.Undefined(), js.Error{Value: first(args)}}
		return nil
	})
	defer broken.Release()
	promise.Call("then", kept, broken)
	o := <-settled
	return o.value, o.err
}
