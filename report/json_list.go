package report

import (
	"bytes"
	"encoding/json"
	"io"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// jsonChunk is how many items of a long list are encoded at once.
const jsonChunk = 256

// writeJSONList writes the object that head would be with one more field, a list, at
// its end; byte for byte as [writeJSON] would. The items of a long list are encoded
// on all cores, and few of them are kept at once.
func writeJSONList(w io.Writer, head any, name string, n int, item func(i int) any) error {
	var b bytes.Buffer
	if err := writeJSON(&b, head); err != nil {
		return err
	}
	b.Truncate(b.Len() - len("\n}\n"))
	b.WriteString(",\n  \"" + name + "\": [")
	if _, err := w.Write(b.Bytes()); err != nil {
		return err
	}
	for from := 0; from < n; {
		upTo := min(n, from+jsonChunk*runtime.GOMAXPROCS(0))
		if err := writeItems(w, from, upTo, item); err != nil {
			return err
		}
		from = upTo
	}
	end := "]\n}\n"
	if n > 0 {
		end = "\n  " + end
	}
	_, err := io.WriteString(w, end)
	return err
}

// writeItems encodes some items, a chunk on each core, and writes them in order.
func writeItems(w io.Writer, from, upTo int, item func(i int) any) error {
	chunks := make([]bytes.Buffer, (upTo-from+jsonChunk-1)/jsonChunk)
	var work errgroup.Group
	for c := range chunks {
		work.Go(func() error {
			first := from + c*jsonChunk
			return encodeItems(&chunks[c], first, min(upTo, first+jsonChunk), item)
		})
	}
	if err := work.Wait(); err != nil {
		return err
	}
	for c := range chunks {
		if _, err := w.Write(chunks[c].Bytes()); err != nil {
			return err
		}
	}
	return nil
}

func encodeItems(b *bytes.Buffer, from, upTo int, item func(i int) any) error {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	e.SetIndent("    ", "  ")
	for i := from; i < upTo; i++ {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString("\n    ")
		if err := e.Encode(item(i)); err != nil {
			return err
		}
		b.Truncate(b.Len() - 1) // the newline
	}
	return nil
}
