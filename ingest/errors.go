package ingest

import "fmt"

// NotRideError says that a file is sound but holds no ride of a bike.
type NotRideError struct {
	Why  string // what it is instead
	Hint string // what to do, where something can be done
}

// Error is the reason.
func (e *NotRideError) Error() string { return e.Why }

// RefusedError says that a file cannot be counted and what to do about it.
type RefusedError struct {
	Path string // of a file that could not be found or read; else ""
	Why  string // what is wrong
	Hint string // what to type or do next; "" = nothing helps
}

// Error is the reason without the hint.
func (e *RefusedError) Error() string { return e.Why }

func refused(hint, format string, args ...any) error {
	return &RefusedError{Why: fmt.Sprintf(format, args...), Hint: hint}
}

func notRide(format string, args ...any) error {
	return &NotRideError{Why: fmt.Sprintf(format, args...)}
}
