package main

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// times measures the benchmarks natively, and those of the adaptive procedures and of the report under node too.
func times(b *bench) error {
	native, err := b.command(nil, "go", "test", "-run=^$", "-bench=.", "-benchtime=200ms", "-p=1",
		"./patterns", "./patterns/psychophysics", "./patterns/check", "./patterns/report", "./colour/display", "./wasm/app")
	if err != nil {
		return fmt.Errorf("%w\n%s", err, native)
	}
	root, err := b.command(nil, "go", "env", "GOROOT")
	if err != nil {
		return err
	}
	// Go's starter refuses a large environment.
	starter := fmt.Sprintf(`sh -c 'exec env -i PATH="$PATH" HOME="$HOME" %s/lib/wasm/go_js_wasm_exec "$@"' sh`, strings.TrimSpace(root))
	rows := benchmarks("native", native)
	for _, of := range [][]string{
		{"-bench=Step", "-benchtime=500x", "./patterns/check"},
		{"-bench=^BenchmarkOf$|^BenchmarkReportPage$", "-benchtime=20x", "./patterns/report", "./wasm/app"},
	} {
		node, err := b.command([]string{"GOOS=js", "GOARCH=wasm"}, "go", append([]string{"test", "-run=^$", "-exec", starter}, of...)...)
		if err != nil {
			return fmt.Errorf("%w\n%s", err, node)
		}
		rows = append(rows, benchmarks("WebAssembly, node", node)...)
	}
	return b.table("Benchmarks", "By go test -bench: Step is an adaptive update, Results, Of and ReportPage are a report's making, its record and its HTML. Held to nothing here; see the adaptive updates in the browser below.", []string{"where", "package", "benchmark", "ms each", "also"}, rows)
}

var benchmark = regexp.MustCompile(`^Benchmark(\S+?)(?:-\d+)?\s+\d+\s+(?:([0-9.e+]+) ns/op)?(.*)$`)

// benchmarks returns rows of what go test -bench printed.
func benchmarks(where, text string) (rows [][]string) {
	of := ""
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if p, ok := strings.CutPrefix(line, "pkg: "); ok {
			of = strings.TrimPrefix(p, "example.org/plumb/")
		}
		m := benchmark.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		each := "" // where the benchmark tells no time of its own
		if m[2] != "" {
			ns, err := strconv.ParseFloat(m[2], 64)
			if err != nil {
				continue // not a number, so not the line of a benchmark
			}
			each = fmt.Sprintf("%.4g", ns/1e6)
		}
		var also []string
		for f := range strings.SplitSeq(m[3], "\t") {
			if f = strings.TrimSpace(f); f != "" {
				also = append(also, strings.ReplaceAll(f, " 0 ", " no "))
			}
		}
		rows = append(rows, []string{where, of, m[1], each, strings.Join(also, ", ")})
	}
	return rows
}
