package metrics

import (
	"runtime"
	"runtime/metrics"
	"sync"
)

// ofRuntime is what is asked of Go's runtime/metrics, and under which name and words it is told.
var ofRuntime = []struct{ source, name, kind, help string }{
	{"/sched/goroutines:goroutines", "go_goroutines", "gauge", "Goroutines that exist."},
	{"/sched/gomaxprocs:threads", "go_gomaxprocs", "gauge", "Threads that may run Go code at a time."},
	{"/memory/classes/total:bytes", "go_memory_bytes", "gauge", "Memory that the Go runtime has taken from the system."},
	{"/memory/classes/heap/objects:bytes", "go_heap_objects_bytes", "gauge", "Memory in objects that live or are not swept yet."},
	{"/gc/heap/allocs:bytes", "go_allocated_bytes_total", "counter", "Memory given to objects since the start."},
	{"/gc/cycles/total:gc-cycles", "go_gc_cycles_total", "counter", "Garbage collections."},
	{"/cpu/classes/user:cpu-seconds", "go_cpu_user_seconds_total", "counter", "Processor time in Go code, as the runtime estimates it at each collection."},
	{"/cpu/classes/gc/total:cpu-seconds", "go_cpu_gc_seconds_total", "counter", "Processor time of garbage collections, as the runtime estimates it."},
}

// Runtime registers what Go's runtime tells of the program. Each call of refresh brings it up to date.
func (r *Registry) Runtime() (refresh func()) {
	r.Gauge("go_info", "The Go release that the program was built with.", "version").Set(1, runtime.Version())
	samples := make([]metrics.Sample, len(ofRuntime))
	families := make([]*family, len(ofRuntime))
	for i, o := range ofRuntime {
		samples[i].Name = o.source
		families[i] = r.add(&family{name: o.name, help: o.help, kind: o.kind})
	}
	var mu sync.Mutex
	return func() {
		mu.Lock()
		defer mu.Unlock()
		metrics.Read(samples)
		for i, s := range samples {
			f := families[i]
			f.mu.Lock()
			switch s.Value.Kind() {
			case metrics.KindUint64:
				f.under(nil).at = float64(s.Value.Uint64())
			case metrics.KindFloat64:
				f.under(nil).at = s.Value.Float64()
			}
			f.mu.Unlock()
		}
	}
}
