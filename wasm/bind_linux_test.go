package main_test

import (
	"os/exec"
	"syscall"
)

// bind makes a command end with this process, also where a test that runs out of time ends it without further ado.
func bind(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGTERM} }
