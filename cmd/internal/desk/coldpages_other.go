//go:build !linux && !darwin

package desk

// pagesFromDisk is not known on this system.
func pagesFromDisk() int64 { return 0 }
