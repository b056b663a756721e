package main

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// confined is how a process is started that has a folder for its root and belongs to nobody; nil where only root may do that.
func confined(t *testing.T, cell, letters string) (*syscall.SysProcAttr, string) {
	t.Helper()
	if os.Getuid() != 0 {
		return nil, cell
	}
	const nobody = 65532
	if err := os.Chown(letters, nobody, nobody); err != nil {
		t.Fatal(err)
	}
	for at := cell; at != filepath.Dir(at) && at != os.TempDir(); at = filepath.Dir(at) {
		if err := os.Chmod(at, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return &syscall.SysProcAttr{Chroot: cell, Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}, "/"
}
