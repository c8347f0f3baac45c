package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// benchWatch builds the program and starts a watch of a folder of so many rides,
// all of which the book knows. It is the real one, with its own patience.
func benchWatch(b *testing.B, known int) (cmd *exec.Cmd, dir string, said *logged) {
	b.Helper()
	exe := filepath.Join(b.TempDir(), "pawl")
	out, err := exec.Command("go", "build", "-o", exe, ".").CombinedOutput()
	require.NoError(b, err, string(out))
	dir, book := watchedYard(b)
	pawl(b, "--book", book, "bike", "add", "one")
	for i := range known {
		putFile(b, filepath.Join(dir, fmt.Sprintf("%04d.fit", i)), benchRide(i))
	}
	if known > 0 {
		pawl(b, "--book", book, "import", dir)
	}
	said = &logged{}
	cmd = exec.Command(exe, "--book", book, "watch", dir)
	cmd.Env, cmd.Stderr = append(os.Environ(), "JOURNAL_STREAM=none"), said
	require.NoError(b, cmd.Start())
	b.Cleanup(func() {
		require.NoError(b, cmd.Process.Signal(os.Interrupt))
		require.NoError(b, cmd.Wait(), said)
	})
	said.says(b, "watching")
	return cmd, dir, said
}

// benchRide is one of 40 short rides a day: 1,000 of them are of a month.
func benchRide(i int) []byte {
	return rigShort(uint64(i)+1, time.Date(2023, 3, 1, 6, 0, 0, 0, time.UTC).Add(time.Duration(i)*36*time.Minute))
}

// How long it takes from a file being there whole, renamed into the folder, to its
// ride being in the book, as the log of a watch that runs tells. 500 ms of it are
// waited for the file to be still.
func BenchmarkWatchLatency(b *testing.B) {
	_, dir, said := benchWatch(b, 0)
	var took []time.Duration
	for i := 0; b.Loop(); i++ {
		name := fmt.Sprintf("%04d.fit", i)
		start := time.Now()
		putFile(b, filepath.Join(dir, name), benchRide(i))
		for said.lines("ride ", name) == 0 {
			require.Less(b, time.Since(start), longEnough, said)
			time.Sleep(time.Millisecond)
		}
		took = append(took, time.Since(start))
	}
	b.ReportMetric(middle(took).Seconds()*1e3, "ms-median") // in order now
	b.ReportMetric(took[len(took)-1].Seconds()*1e3, "ms-longest")
	b.ReportMetric(0, "ns/op")
}

// What a watch of 1,000 known files costs that has nothing to do: the time of the
// processor in 20 s, and the memory that is its own.
func BenchmarkWatchIdle(b *testing.B) {
	if _, err := os.Stat("/proc/self/stat"); err != nil {
		b.Skip("no /proc to look into")
	}
	cmd, dir, said := benchWatch(b, 1000)
	putFile(b, filepath.Join(dir, "new.fit"), benchRide(1000))
	said.says(b, "ride ", "new.fit") // by then the others were looked at
	time.Sleep(2 * time.Second)
	start := processTime(b, cmd.Process.Pid)
	from := time.Now()
	for b.Loop() {
		time.Sleep(20 * time.Second)
	}
	used := processTime(b, cmd.Process.Pid) - start
	b.ReportMetric(used.Seconds()*1e3/(time.Since(from).Seconds()/20), "cpu-ms/20s")
	b.ReportMetric(processMemory(b, cmd.Process.Pid, "RssAnon"), "MB-own")
	b.ReportMetric(processMemory(b, cmd.Process.Pid, "VmHWM"), "MB-most")
	b.ReportMetric(0, "ns/op")
}

// processTime is the time that a process had the processor for; Linux counts it in
// hundredths of a second (proc(5), times(2): fields 14 and 15 of stat).
func processTime(b *testing.B, pid int) time.Duration {
	b.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	require.NoError(b, err)
	_, behind, _ := strings.Cut(string(raw), ") ") // the name may hold blanks
	fields := strings.Fields(behind)
	sum := 0
	for _, field := range fields[11:13] {
		n, err := strconv.Atoi(field)
		require.NoError(b, err)
		sum += n
	}
	return time.Duration(sum) * 10 * time.Millisecond
}

// processMemory is a line of /proc/PID/status in MB.
func processMemory(b *testing.B, pid int, name string) float64 {
	b.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	require.NoError(b, err)
	_, behind, found := strings.Cut(string(raw), name+":")
	require.True(b, found, string(raw))
	kB, err := strconv.ParseFloat(strings.Fields(behind)[0], 64)
	require.NoError(b, err)
	return kB / 1024
}
