// Package config reads the settings file: what the shop is called, how its mail
// is sent, and where its own wording lies.
//
// # Contract
//
// A file says only what it is meant to say: an unknown word, a value of the
// wrong kind and a setting that cannot work are each one error with file, line
// and column. A missing file is an empty one. Paths in the file are relative to
// its folder.
//
// The password of the mail server is never in the file, in a flag, in the book
// or in an error: it comes from the environment or from a file that nobody else
// can read, and is held by a [Password], which shows itself to nobody.
package config
