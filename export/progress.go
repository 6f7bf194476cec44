package export

import (
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"
)

// Progress tells on a terminal how far work is that lasts over a second. It is
// silent where the output is piped; with NO_COLOR set or a dumb terminal it
// writes plain lines instead of redrawing one. It reads the clock, which never
// reaches a result.
type Progress struct {
	out     io.Writer
	plain   bool
	started time.Time
	last    time.Time
	shown   bool
}

// NewProgress gives a Progress that is silent unless out is a terminal.
func NewProgress(out io.Writer) *Progress {
	f, ok := out.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &Progress{}
	}
	return &Progress{out: out, plain: os.Getenv("NO_COLOR") != "" || os.Getenv("TERM") == "dumb", started: time.Now()}
}

// Tell notes that done of total parts of a stage are done.
func (p *Progress) Tell(stage string, done, total int) {
	if p.out == nil {
		return
	}
	now := time.Now()
	every := 200 * time.Millisecond
	if p.plain {
		every = 2 * time.Second
	}
	if now.Sub(p.started) < time.Second || now.Sub(p.last) < every {
		return
	}
	p.last, p.shown = now, true
	line := stage
	if total > 1 {
		line = fmt.Sprintf("%s %d of %d", stage, done, total)
	}
	if p.plain {
		fmt.Fprintln(p.out, line)
		return
	}
	fmt.Fprintf(p.out, "\r\x1b[K%s", line)
}

// Done clears the line.
func (p *Progress) Done() {
	if p.out != nil && p.shown && !p.plain {
		fmt.Fprint(p.out, "\r\x1b[K")
	}
}
