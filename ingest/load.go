package ingest

import "os"

// load reads a file whole. Only plain files are opened: a pipe would never end.
func load(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, unreadable(path, err)
	case info.IsDir():
		return nil, refused("name the folder itself: pawl import FOLDER", "a folder, not a file")
	case !info.Mode().IsRegular():
		return nil, refused("copy its content to a file and import that", "not a plain file")
	case info.Size() > maxBytes:
		return nil, tooLarge(info.Size())
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	return raw, nil
}
