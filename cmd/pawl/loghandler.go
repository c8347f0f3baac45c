package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"sync"
)

// lineHandler writes log records for a person at a terminal: the time of day,
// what happened, and the facts in brackets behind it.
type lineHandler struct {
	mu  sync.Mutex
	out io.Writer
}

// Enabled implements slog.Handler.
func (h *lineHandler) Enabled(_ context.Context, level slog.Level) bool {
	return level >= slog.LevelInfo
}

// Handle implements slog.Handler.
func (h *lineHandler) Handle(_ context.Context, r slog.Record) error {
	line := r.Time.Format("15:04:05  ") + oneLine(r.Message)
	var facts []string
	r.Attrs(func(at slog.Attr) bool {
		text := oneLine(at.Value.String())
		switch {
		case text == "":
		case at.Key == "hint":
			line += "\n          hint: " + text
		default:
			facts = append(facts, at.Key+" "+text)
		}
		return true
	})
	if len(facts) > 0 {
		first, rest, more := strings.Cut(line, "\n")
		line = first + "  (" + strings.Join(facts, ", ") + ")"
		if more {
			line += "\n" + rest
		}
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	_, err := fmt.Fprintln(h.out, line)
	return err
}

// WithAttrs implements slog.Handler: the watch has no standing facts.
func (h *lineHandler) WithAttrs([]slog.Attr) slog.Handler { return h }

// WithGroup implements slog.Handler.
func (h *lineHandler) WithGroup(string) slog.Handler { return h }
