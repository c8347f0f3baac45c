package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"pawl/cmd/internal/desk"
)

// unitFacts are what the unit of a watch is made from. The paths are absolute.
type unitFacts struct {
	Program string   // this program
	Book    string   // the book; the unit may write into its folder and nowhere else
	Dirs    []string // the folders to watch
	Args    []string // further flags of pawl watch
}

// unitText is the unit of the systemd of a user, as systemd.exec(5) of 252 has it:
// the command line, the book's folder and the line about the folder of temporary
// files are put in.
const unitText = `# pawl.service: imports the rides that land in a folder. It goes into
# ~/.config/systemd/user (make that folder where there is none). To start it, now
# and with every login:
#
#   pawl watch --unit ~/rides > ~/.config/systemd/user/pawl.service
#   systemctl --user daemon-reload
#   systemctl --user enable --now pawl
#
# What it did: journalctl --user -u pawl
# It ends with the last logout, unless: loginctl enable-linger

[Unit]
Description=pawl: import the rides that land in a folder
# No RequiresMountsFor=: a watched folder may be on a stick that is not in yet.

[Service]
# exec: a sandbox that cannot be made, or a program that is gone, fails the start.
Type=exec
# ":" has systemd leave every "$" as it is; "%%" is one "%".
ExecStart={{command}}
Restart=on-failure
RestartSec=30
# 2 is a wrong command line, which another start would only repeat.
RestartPreventExitStatus=2

# Part 1 needs a user namespace: only in one may a user's systemd do these. Where
# the system allows none to users, the start fails with 217/USER or 226/NAMESPACE;
# the choice is then to allow them, or to take out part 1 as a whole.
PrivateUsers=yes
# No network: a namespace with nothing in it but "lo".
PrivateNetwork=yes
# Writes nowhere but into the folder of the book, which must be there: beside the
# book lie its locks. Reads what the user can read; folders that are mounted later
# show up.
ProtectSystem=strict
ProtectHome=read-only
ReadWritePaths={{folder}}
{{tmp}}
PrivateDevices=yes
PrivateIPC=yes
ProtectClock=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
# The manual has it for system services only; it works in a user namespace.
ProtectControlGroups=yes
ProtectProc=invisible
ProcSubset=pid
# None, also of those that the first process of a user namespace would have.
CapabilityBoundingSet=

# Part 2 are filters of system calls and more that every user may set.
NoNewPrivileges=yes
# No sockets but those of this machine, also without part 1.
RestrictAddressFamilies=AF_UNIX
# A packet filter, which the systemd of a user may not load: it says so in its log
# and goes on. The two above are what holds; this is for a system that lets it.
IPAddressDeny=any
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
# memfd_create would be a way round MemoryDenyWriteExecute=.
SystemCallFilter=~@privileged @resources @setuid @keyring @memlock @aio memfd_create
# What is not allowed fails and is told; without this line it would kill.
SystemCallErrorNumber=EPERM
# The book is nobody else's to read.
UMask=0077

# Others go first. An import takes less than 150 MB and the cached pages of the book;
# above this it is slowed, not killed.
Nice=15
IOSchedulingClass=idle
MemoryHigh=400M
TasksMax=64

[Install]
WantedBy=default.target
`

// The line about temporary files: a private /tmp would hide what lies in the real
// one. Watching needs neither.
const (
	unitTmp   = "# Without the temporary files of other programs.\nPrivateTmp=yes"
	unitNoTmp = "# No PrivateTmp=: it would hide a folder of this unit, which is a temporary one."
)

// systemdUnit is a unit of the user's systemd that watches for ever, with no
// network, and writes into the folder of the book only. The error is a
// [desk.MistakeError]: a path that a unit cannot hold.
func systemdUnit(u unitFacts) (string, error) {
	folder := filepath.Dir(u.Book)
	if err := u.check(); err != nil {
		return "", err
	}
	words := append([]string{":" + u.Program, "--book", u.Book, "watch"}, u.Args...)
	words = append(words, u.Dirs...)
	for i, w := range words {
		words[i] = unitWord(w)
	}
	tmp := unitTmp
	for _, path := range append([]string{u.Program, folder}, u.Dirs...) {
		if temporary(path) {
			tmp = unitNoTmp
		}
	}
	return strings.NewReplacer(
		"{{command}}", strings.Join(words, " "), "{{folder}}", unitWord(folder), "{{tmp}}", tmp,
	).Replace(unitText), nil
}

// check refuses what a unit cannot say, or not without giving up what it is for.
func (u unitFacts) check() error {
	for _, p := range append([]unitPath{{"program", u.Program}, {"book", u.Book}}, dirPaths(u.Dirs)...) {
		if !filepath.IsAbs(p.path) {
			return unitMistake("%s %q: a unit needs the whole path, from / on", p.what, p.path)
		}
		if err := checkUnitWord(p.what, p.path); err != nil {
			return err
		}
	}
	for _, arg := range u.Args {
		if err := checkUnitWord("flag", arg); err != nil {
			return err
		}
	}
	switch {
	case len(u.Dirs) == 0:
		return unitMistake("a unit needs a folder to watch")
	case strings.ContainsAny(u.Program, `"'\`):
		return unitMistake("program %q: systemd starts no program with a quote or a backslash in its path", u.Program)
	case filepath.Dir(u.Book) == "/":
		return unitMistake("book %q: a unit that may write into / is not closed in; give the book a folder of its own", u.Book)
	}
	return nil
}

type unitPath struct{ what, path string }

func dirPaths(dirs []string) (list []unitPath) {
	for _, d := range dirs {
		list = append(list, unitPath{"folder", d})
	}
	return list
}

// checkUnitWord refuses what the files of systemd cannot hold: it skips lines that
// are not UTF-8, and takes control characters in no path.
func checkUnitWord(what, word string) error {
	if !utf8.ValidString(word) || strings.ContainsFunc(word, unicode.IsControl) {
		return unitMistake("%s %q: a unit cannot hold a control character or what is not UTF-8", what, word)
	}
	return nil
}

func unitMistake(format string, args ...any) error {
	return &desk.MistakeError{Msg: fmt.Sprintf(format, args...), Tip: "pawl watch --unit ~/rides"}
}

var plainWord = onUse(`^[\pL\pN@+=:,./_-]+$`)

// unitWord quotes a word by systemd.syntax(7), and hides "%" from the specifiers
// of systemd.unit(5). It uses only the two escapes that mean the same in a command
// and in a list of paths, which knows no others.
func unitWord(word string) string {
	if plainWord().MatchString(word) {
		return word
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "%", "%%").Replace(word) + `"`
}

// temporary reports whether PrivateTmp= would hide a path.
func temporary(path string) bool {
	path = filepath.Clean(path) + "/"
	return strings.HasPrefix(path, "/tmp/") || strings.HasPrefix(path, "/var/tmp/")
}
