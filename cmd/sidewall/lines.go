package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

var errLongLine = fmt.Errorf("the line is longer than %d bytes", maxLine)

// lineReader reads lines and counts them. Blank lines at the end of the input
// are no lines; one in the middle is.
type lineReader struct {
	r     *bufio.Reader
	n     int // of the line that next gave last
	blank int // blank lines that wait for a line after them
	held  []byte
	bad   error
	full  bool // held is the line after the blank ones
}

func newLineReader(r io.Reader) *lineReader {
	l := &lineReader{r: bufio.NewReaderSize(r, 64<<10)}
	if mark, err := l.r.Peek(3); err == nil && bytes.Equal(mark, []byte("\xEF\xBB\xBF")) {
		_, _ = l.r.Discard(3) // what was peeked at is there
	}
	return l
}

// next is the next line without its end. The error is errLongLine for a line
// that is skipped, io.EOF after the last, or the reader's.
func (l *lineReader) next() ([]byte, error) {
	for !l.full {
		line, err := l.read()
		if err != nil && !errors.Is(err, errLongLine) {
			return nil, err
		}
		if err == nil && len(bytes.TrimSpace(line)) == 0 {
			l.blank++
			continue
		}
		l.held, l.bad, l.full = line, err, true
	}
	l.n++
	if l.blank > 0 {
		l.blank--
		return nil, nil
	}
	l.full = false
	return l.held, l.bad
}

// ready says whether the next line is here already.
func (l *lineReader) ready() bool { return l.full || l.r.Buffered() > 0 }

func (l *lineReader) read() ([]byte, error) {
	var line []byte
	long := false
	for {
		part, err := l.r.ReadSlice('\n')
		if len(line)+len(part) > maxLine {
			long, line = true, line[:0]
		}
		if !long {
			line = append(line, part...)
		}
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && len(line) == 0 && !long:
			return nil, io.EOF
		case err != nil && !errors.Is(err, io.EOF):
			return nil, err
		case long:
			return nil, errLongLine
		}
		return bytes.TrimRight(line, "\r\n"), nil
	}
}
