// Command first times how long a link to a check takes until its first pattern is up, with nothing cached, over a line of 10 Mbit/s whose round trip takes 40 ms, and what
// keeps the page from answering while somebody sits.
//
//	go run ./.ci/first
//
// It builds the server, puts a slow line before it, and drives a Chromium, which presses every button as soon as it is there. What a person would take is so left out. What the
// program waits on purpose between the first button and the pattern, because a field fades in and a rest goes before a pattern, is told apart: it is what its timers were set to,
// and for each change the next frame of a display, a sixtieth of a second away at most. Times never fail it.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"example.org/plumb/.ci/browse"
)

func main() {
	browser := flag.String("browser", "chromium", "the browser to drive")
	runs := flag.Int("runs", 5, "visits of which the medians are taken")
	megabits := flag.Float64("line", 10, "speed of the line in Mbit/s")
	trip := flag.Duration("trip", 40*time.Millisecond, "its round trip")
	flag.Parse()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	if err := run(ctx, *browser, *runs, *megabits*1e6/8, *trip); err != nil {
		fmt.Fprintln(os.Stderr, "first:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, browser string, runs int, rate float64, trip time.Duration) error {
	if runs < 1 || rate <= 0 || trip < 0 {
		return errors.New("at least one run, and a line that carries something")
	}
	addr, stop, err := serve(ctx)
	if err != nil {
		return err
	}
	defer stop()
	var list []visit
	for range runs {
		v, err := once(ctx, browser, addr, rate, trip)
		if err != nil {
			return err
		}
		list = append(list, v)
	}
	table(list)
	long, err := sit(ctx, browser, addr)
	if err != nil {
		return err
	}
	if long.Presentations < 20 {
		return fmt.Errorf("a sitting of %d presentations shows nothing", long.Presentations)
	}
	fmt.Printf("\ntasks above 50 ms\n")
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "sitting\tpresentations\ttasks\tlongest\tin all\tafter the last answer\tlongest\t")
	fmt.Fprintf(w, "short\t%d\t%d\t%.0f\t%.0f\t%d\t%.0f\t\n", long.Presentations, len(long.Tasks), slices.Max(append(long.Tasks, 0)), sum(long.Tasks), len(long.After), slices.Max(append(long.After, 0)))
	return w.Flush()
}

func sum(list []float64) (s float64) {
	for _, v := range list {
		s += v
	}
	return s
}

// serve builds the server and starts it on a free port.
func serve(ctx context.Context) (addr string, stop func(), err error) {
	dir, err := os.MkdirTemp("", "first")
	if err != nil {
		return "", nil, err
	}
	program, err := browse.Build(ctx, ".", dir)
	var s *browse.Server
	if err == nil {
		s, err = browse.Serve(".", program, "-addr", "127.0.0.1:0")
	}
	if err != nil {
		os.RemoveAll(dir)
		return "", nil, err
	}
	return strings.TrimPrefix(s.Site, "http://"), func() {
		s.Stop()
		os.RemoveAll(dir)
	}, nil
}

// hurry presses every button on the way to the first pattern as soon as it is there, and writes down when what came, in ms since the visit began, and what was waited on
// purpose from the first button on.
const hurry = `(() => {
	const seen = window.first = {compiled: 0, up: 0, pressed: 0, pattern: 0, waits: 0};
	let came;
	seen.came = new Promise(done => { came = done });
	let begun = 0; // when the frame's work that is being done began: the program reckons its waits from there, so that what it does meanwhile makes none longer
	let waited = 0; // until when was waited on purpose: what two wait for together counts once
	const wait = (from, to) => {
		if (!seen.pressed || seen.pattern) return;
		seen.waits += Math.max(0, to - Math.max(from, waited, seen.pressed));
		waited = Math.max(waited, to);
	};
	const timer = window.setTimeout, untimer = window.clearTimeout, frame = window.requestAnimationFrame;
	const set = new Map(); // when what the timers that are set wait for began
	window.setTimeout = (f, delay, ...of) => {
		const from = begun || performance.now(), to = performance.now() + (delay || 0);
		const id = timer(() => { set.delete(id); wait(from, to); f(...of) }, delay);
		set.set(id, from);
		return id;
	};
	window.clearTimeout = id => {
		if (set.has(id)) wait(set.get(id), performance.now()); // until it was set anew
		set.delete(id);
		untimer(id);
	};
	window.requestAnimationFrame = f => {
		const from = performance.now();
		return frame(at => {
			begun = performance.now();
			wait(from, Math.min(begun, from + 1000 / 60));
			f(at);
			begun = 0;
		});
	};
	const whole = WebAssembly.compileStreaming;
	if (whole) WebAssembly.compileStreaming = async (...of) => { const made = await whole.apply(WebAssembly, of); seen.compiled = performance.now(); return made };
	const look = () => {
		const d = document.body?.dataset, c = document.getElementById("screen");
		if (!d) return;
		if (!seen.up && d.stage) seen.up = performance.now();
		if (c?.dataset.presentation) { if (!seen.pattern) { seen.pattern = performance.now(); came() } return }
		const b = document.querySelector("[data-action=continue]");
		if (b && (d.stage === "prepare" || d.stage === "intro")) { seen.pressed ||= performance.now(); b.click() }
	};
	new MutationObserver(look).observe(document, {attributes: true, childList: true, subtree: true});
})()`

// A visit is when things were there, in ms since it began, and how many bytes it took until the pattern was up.
type visit struct {
	Page, Program, Compiled, Up, Pressed, Pattern float64
	Waits                                         float64 // how much of the time from Pressed to Pattern is meant

	bytes int64
	alone time.Duration
}

// worked is when the pattern would have been there without what is waited on purpose.
func (v visit) worked() float64 { return v.Pattern - v.Waits }

// start starts a browser in which a script runs before those of each page.
func start(ctx context.Context, browser, script string) (context.Context, func(), error) {
	ctx, stop, err := browse.Start(ctx, browser, chromedp.WindowSize(1280, 800))
	if err != nil {
		return nil, nil, err
	}
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script}); err != nil {
		stop()
		return nil, nil, err
	}
	return ctx, stop, nil
}

// once visits a check with a browser that knows nothing.
func once(ctx context.Context, browser, addr string, rate float64, trip time.Duration) (v visit, err error) {
	l, err := lay(addr, rate, trip)
	if err != nil {
		return v, err
	}
	defer l.open.Close()
	ctx, stop, err := start(ctx, browser, hurry)
	if err != nil {
		return v, err
	}
	defer stop()
	if err := chromedp.Do(ctx, chromedp.Navigate("http://"+l.open.Addr().String()+"/check?length=short")); err != nil {
		return v, err
	}
	v, err = chromedp.Run(ctx, chromedp.Evaluate[visit](`Promise.race([
		window.first.came,
		new Promise((_, failed) => setTimeout(() => failed(new Error("no pattern: " + document.body.innerText)), 60000)),
	]).then(() => {
		const f = window.first, program = performance.getEntriesByType("resource").find(e => e.name.includes(".wasm"));
		return {page: performance.getEntriesByType("navigation")[0].responseEnd, program: program ? program.responseEnd : 0, compiled: f.compiled, up: f.up, pressed: f.pressed, pattern: f.pattern, waits: f.waits};
	})`, chromedp.EvalAwaitPromise))
	if err != nil {
		return v, err
	}
	v.bytes = l.carried()
	v.alone = l.alone(v.bytes)
	return v, nil
}

func table(list []visit) {
	middle := func(f func(v visit) float64) float64 {
		var all []float64
		for _, v := range list {
			all = append(all, f(v))
		}
		slices.Sort(all)
		return all[len(all)/2]
	}
	ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Printf("medians of %d visits with nothing cached, ms since the link was pressed\n", len(list))
	fmt.Fprintln(w, "visit\tkB\tbytes alone\tpage\tprogram\tcompiled\tready\tpressed\tpattern\tmeant waits\tpattern less waits\tready/alone\tpattern less waits/alone\t")
	fmt.Fprintf(w, "check\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.2f\t%.2f\t\n",
		middle(func(v visit) float64 { return float64(v.bytes) / 1000 }), middle(func(v visit) float64 { return ms(v.alone) }), middle(func(v visit) float64 { return v.Page }),
		middle(func(v visit) float64 { return v.Program }), middle(func(v visit) float64 { return v.Compiled }), middle(func(v visit) float64 { return v.Up }), middle(func(v visit) float64 { return v.Pressed }),
		middle(func(v visit) float64 { return v.Pattern }), middle(func(v visit) float64 { return v.Waits }), middle(visit.worked),
		middle(func(v visit) float64 { return v.Up / ms(v.alone) }), middle(func(v visit) float64 { return v.worked() / ms(v.alone) }))
	w.Flush()
}

// A seat is what came of a sitting: how many presentations, and how long the page's tasks above 50 ms took, in ms (W3C, Long Tasks API).
type seat struct {
	Presentations int
	Tasks         []float64 // from the first presentation to the last answer
	After         []float64 // from the last answer on: the report is worked out
}

// sit goes through a short sitting, taking the first choice each time, after a rest as a person has it.
func sit(ctx context.Context, browser, addr string) (s seat, err error) {
	ctx, stop, err := start(ctx, browser, hurry)
	if err != nil {
		return s, err
	}
	defer stop()
	if err := chromedp.Do(ctx, chromedp.Navigate("http://"+addr+"/check?length=short")); err != nil {
		return s, err
	}
	return chromedp.Run(ctx, chromedp.Evaluate[seat](`new Promise((done, failed) => {
		const tasks = [];
		let judging = false, count = 0, seq = -1, moves = 0;
		new PerformanceObserver(l => { if (judging) tasks.push(...l.getEntries()) }).observe({entryTypes: ["longtask"]});
		let answered = 0;
		const began = performance.now();
		const press = code => window.dispatchEvent(new KeyboardEvent("keydown", {code, key: code, bubbles: true, cancelable: true}));
		const step = () => {
			if (document.body.dataset.stage === "report") {
				// The observer is told a little later.
				setTimeout(() => done({presentations: count, tasks: tasks.filter(e => e.startTime < answered).map(e => e.duration), after: tasks.filter(e => e.startTime >= answered).map(e => e.duration)}), 500);
				return;
			}
			if (performance.now() - began > 240000) { failed(new Error("no end: " + document.body.innerText)); return }
			const mark = document.getElementById("screen").dataset.presentation;
			if (mark) {
				judging = true;
				const p = JSON.parse(mark);
				if (p.seq !== seq) {
					seq = p.seq;
					const last = p.choices[p.choices.length - 1];
					const set = last.key === "Enter";
					const key = set && ++moves % 3 === 0 ? last.key : p.choices[0].key;
					setTimeout(() => { count += !set || key === "Enter" ? 1 : 0; answered = performance.now(); press(key) }, 150); // the answer's own work begins after it
				}
			}
			setTimeout(step, 30);
		};
		step();
	})`, chromedp.EvalAwaitPromise))
}
