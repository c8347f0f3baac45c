package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hintMakers are functions with a hint among their arguments, and where.
var hintMakers = map[string]int{"mistake": 0, "refusal": 0, "err": 1}

// hints are the literals of the sources from which hints are made.
func hints(t *testing.T) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	for _, dir := range []string{".", "../internal/desk", "../../wear", "../../store", "../../ingest", "../../report"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		require.NoError(t, err)
		require.NotEmpty(t, files, dir)
		for _, name := range files {
			if !strings.HasSuffix(name, "_test.go") {
				found[name] = hintsIn(t, name)
			}
		}
	}
	return found
}

func hintsIn(t *testing.T, name string) (list []string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
	require.NoError(t, err)
	take := func(n ast.Node) { list = append(list, literals(n)...) }
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			if at, ok := hintMakers[called(n)]; ok && at < len(n.Args) {
				take(n.Args[at])
			}
		case *ast.KeyValueExpr:
			if key, ok := n.Key.(*ast.Ident); ok && strings.EqualFold(key.Name, "tip") {
				take(n.Value)
			}
		case *ast.AssignStmt:
			for i, to := range n.Lhs {
				if strings.HasSuffix(strings.ToLower(last(to)), "tip") && i < len(n.Rhs) {
					take(n.Rhs[i])
				}
			}
		case *ast.FuncDecl:
			if n.Name.Name == "Hint" {
				take(n.Body)
			}
		}
		return true
	})
	return list
}

// called is the name of the function that is called.
func called(c *ast.CallExpr) string { return last(c.Fun) }

// last is the last name of x or a.x.
func last(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

func literals(n ast.Node) (list []string) {
	ast.Inspect(n, func(n ast.Node) bool {
		if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			if s, err := strconv.Unquote(lit.Value); err == nil {
				list = append(list, s)
			}
		}
		return true
	})
	return list
}

var (
	hintedCommand = regexp.MustCompile(`\bpawl ([a-z][a-z -]*)([^;:)]*)`)
	hintedFlag    = regexp.MustCompile(`(?:^|[ (])--([a-z-]+)`)
)

// What a hint says to type can be typed: its commands and flags are there.
func TestHintsCanBeTyped(t *testing.T) {
	commands, flags := 0, 0
	for file, list := range hints(t) {
		for _, hint := range list {
			for _, m := range hintedCommand.FindAllStringSubmatch(hint, -1) {
				commands++
				cmd := commandNamed(strings.Fields(m[1]))
				if !assert.NotNil(t, cmd, "%s: %q: no such command", file, hint) {
					continue
				}
				for _, f := range hintedFlag.FindAllStringSubmatch(" "+m[0], -1) {
					cmd.InitDefaultHelpFlag()
					assert.True(t, cmd.Flag(f[1]) != nil, "%s: %q: %s has no --%s", file, hint, cmd.CommandPath(), f[1])
				}
			}
			for _, f := range hintedFlag.FindAllStringSubmatch(hint, -1) {
				flags++
				assert.True(t, somewhere(f[1]), "%s: %q: no command has --%s", file, hint, f[1])
			}
		}
	}
	assert.Greater(t, commands, 20, "hints that name commands are found at all")
	assert.Greater(t, flags, 10, "hints that name flags are found at all")
}

// commandNamed is the command that words begin with, nil where they begin with none.
func commandNamed(words []string) *cobra.Command {
	at := allCommands()[0]
	for _, w := range words {
		next, _, err := at.Find([]string{w})
		if err != nil || next == at {
			break
		}
		at = next
	}
	if !at.HasParent() {
		return nil
	}
	return at
}

// somewhere reports whether any command has a flag.
func somewhere(flag string) bool {
	for _, c := range allCommands() {
		c.InitDefaultHelpFlag()
		if c.Flag(flag) != nil {
			return true
		}
	}
	return false
}
