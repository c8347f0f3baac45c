package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// atStart are calls that take long enough to be made when their result is first
// used (onUse, sync.OnceValue), not at the start of every program.
var atStart = map[string]bool{"regexp.MustCompile": true, "template.Must": true, "crc32.MakeTable": true}

// Every command starts the whole program: no package compiles patterns or
// templates before it is asked for something.
func TestPackagesStartFast(t *testing.T) {
	files := 0
	require.NoError(t, filepath.WalkDir("../../..", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		files++
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		for _, call := range startCalls(f) {
			assert.Fail(t, "called at every start", "%s: %s", path, call)
		}
		return nil
	}))
	assert.NotZero(t, files)
}

func TestStartCalls(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "a.go", `package a
var (
	a = regexp.MustCompile("a")
	b = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile("b") })
	c = []*regexp.Regexp{regexp.MustCompile("c")}
)
func d() { regexp.MustCompile("d") }
`, 0)
	require.NoError(t, err)
	assert.Equal(t, []string{"regexp.MustCompile", "regexp.MustCompile"}, startCalls(f))
}

// startCalls are the calls of a file's variables that are made at the start. What
// is within a function is left out.
func startCalls(f *ast.File) (found []string) {
	for _, d := range f.Decls {
		vars, ok := d.(*ast.GenDecl)
		if !ok || vars.Tok != token.VAR {
			continue
		}
		ast.Inspect(vars, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				if sel, ok := call.Fun.(*ast.SelectorExpr); ok {
					if pkg, ok := sel.X.(*ast.Ident); ok && atStart[pkg.Name+"."+sel.Sel.Name] {
						found = append(found, pkg.Name+"."+sel.Sel.Name)
					}
				}
			}
			_, isFunc := n.(*ast.FuncLit)
			return !isFunc
		})
	}
	return found
}
