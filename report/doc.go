// Package report turns findings, rides and parts into what a person reads on a
// terminal and what a program reads as JSON or CSV.
//
// Everything is told what it needs: the writer, the width, whether to colour,
// the units and the time zone are arguments. The package asks neither the
// terminal nor the environment nor the clock, so the same facts give the same
// bytes everywhere.
//
// # Contract
//
// On a terminal no line is wider than [Style].Width, counted in columns of a
// terminal; text that came from outside is shown with its control characters
// spelled out. A verdict is told by its word, then by a shape, then by a colour
// of the Okabe–Ito set. An estimate is called one in the same line.
//
// JSON is one object with "version" and "warnings" first; its fields, their
// order and their units (SI, elongation in per cent, shares from 0 to 1 and
// beyond, dates in ISO 8601, null for what is not known) are a promise that
// [Version] counts. CSV follows RFC 4180, and its text cells cannot start a
// formula in a spreadsheet.
package report
