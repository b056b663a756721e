package main

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"

	"example.org/plumb/web/mailbox/migrations"
)

// What lies beside the worker: the pages, and how the host is to run all this.
const (
	folder = "site"
	config = "wrangler.json"
)

// entry is the worker without its program: the modules that start it, the migrations of its database, and how the host is to run it.
func entry(root string, s settings) (map[string][]byte, error) {
	files := map[string][]byte{}
	for _, name := range []string{"worker.mjs", "pool.mjs"} {
		text, err := os.ReadFile(filepath.Join(root, "web", "worker", name))
		if err != nil {
			return nil, fmt.Errorf("build: %w", err)
		}
		files[name] = text
	}
	names, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		return nil, fmt.Errorf("build: %w", err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(migrations.Files, name)
		if err != nil {
			return nil, fmt.Errorf("build: %w", err)
		}
		files[filepath.Join("migrations", name)] = text
	}
	if files[config], err = configuration(s); err != nil {
		return nil, err
	}
	return files, nil
}

// configuration is what wrangler reads. Names in capitals are those by which the worker finds its bindings.
func configuration(s settings) ([]byte, error) {
	type object = map[string]any
	database := object{"binding": "DB", "database_name": s.name, "migrations_dir": "migrations", "database_id": s.database}
	if s.database == "" {
		database["database_id"] = "local"
	}
	b, err := json.MarshalIndent(object{
		"name":               s.name,
		"main":               "worker.mjs",
		"compatibility_date": "2026-04-01",
		"assets": object{
			"directory":          folder,
			"html_handling":      "auto-trailing-slash",
			"not_found_handling": "404-page",
			"run_worker_first":   []string{"/api/*"},
		},
		"d1_databases":  []object{database},
		"r2_buckets":    []object{{"binding": "PARCELS", "bucket_name": s.bucket}},
		"vars":          object{"LIMIT": strconv.FormatInt(s.limit, 10), "RATE": strconv.Itoa(s.rate)},
		"triggers":      object{"crons": []string{"23 3 * * *"}},
		"observability": object{"enabled": false}, // its logs would hold the addresses of boxes
		"preview_urls":  false,
		"send_metrics":  false,
	}, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("build: %w", err)
	}
	return append(b, '\n'), nil
}
