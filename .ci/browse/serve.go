package browse

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
)

// Find is the path of the Chromium to drive: $CHROMIUM, or the one that this computer has. It is empty where there is none.
func Find() string {
	for _, name := range []string{os.Getenv("CHROMIUM"), "/usr/bin/chromium", "chromium", "chromium-browser"} {
		if name == "" {
			continue
		}
		if p, err := exec.LookPath(name); err == nil {
			return p
		}
	}
	return ""
}

// Build builds web/server of the tree at root into a folder, by go build with more flags where they are given, and returns the program's path.
func Build(ctx context.Context, root, folder string, flags ...string) (string, error) {
	program := filepath.Join(folder, "server")
	c := exec.CommandContext(ctx, "go", append(append([]string{"build", "-o", program}, flags...), "./web/server")...)
	c.Dir = root
	if out, err := c.CombinedOutput(); err != nil {
		return "", fmt.Errorf("browse: the server does not build: %w\n%s", err, out)
	}
	return program, nil
}

// A Server is a program that serves.
type Server struct {
	Site    string // its address, as in "http://127.0.0.1:8440"
	command *exec.Cmd
}

// Serve starts a program that Build made with arguments, in root, and returns once it says where it is.
func Serve(root, program string, args ...string) (*Server, error) {
	c := exec.Command(program, args...)
	c.Dir = root
	Bind(c)
	var log bytes.Buffer
	c.Stderr = &log
	out, err := c.StdoutPipe()
	if err != nil {
		return nil, fmt.Errorf("browse: %w", err)
	}
	if err := c.Start(); err != nil {
		return nil, fmt.Errorf("browse: %w", err)
	}
	s := &Server{command: c}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		s.Stop()
		return nil, fmt.Errorf("browse: the server did not come up: %w\n%s", err, log.Bytes())
	}
	go io.Copy(io.Discard, out)
	_, at, ok := strings.Cut(strings.TrimSpace(line), "http://")
	if !ok {
		s.Stop()
		return nil, fmt.Errorf("browse: the server printed no link: %q", line)
	}
	s.Site = "http://" + strings.TrimRight(at, "/")
	return s, nil
}

// Stop asks the program to end and waits until it has.
func (s *Server) Stop() {
	s.command.Process.Signal(syscall.SIGTERM)
	s.command.Wait()
}
