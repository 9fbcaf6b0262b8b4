package record

import (
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/schematest"
)

var update = flag.Bool("update", false, "write README.md anew")

// README.md has every key that a record may have, with what the source says of it, and names every file.
func TestThePageIsThatOfTheTypes(t *testing.T) {
	comments, err := schematest.CommentsOf(".")
	require.NoError(t, err)
	head, err := os.ReadFile("testdata/page/head.txt")
	require.NoError(t, err)
	var b strings.Builder
	b.Write(head)
	b.WriteString("## Keys\n\nA key that is not always there is left out where it has nothing to say.\n\n")
	for _, one := range []any{Result{}, line{}, Host{}, Input{}, alongHead{}, Moment{}} {
		assert.Empty(t, schematest.Unsaid(one, comments), "a comment at the field says what the key means")
		for _, table := range strings.SplitAfter(schematest.Tables(one, "###", comments), "\n\n### ") {
			if table = "### " + strings.TrimSuffix(strings.TrimPrefix(table, "### "), "### "); !strings.Contains(b.String(), strings.SplitN(table, "\n", 2)[0]+"\n") {
				b.WriteString(table)
			}
		}
	}
	page := strings.TrimRight(b.String(), "\n") + "\n"
	if *update {
		require.NoError(t, os.WriteFile("README.md", []byte(page), 0o644))
	}
	kept, err := os.ReadFile("README.md")
	require.NoError(t, err)
	assert.Equal(t, page, string(kept), "go test ./suites/record -update writes it anew")
	for _, name := range []string{planName, casesName, hostName, resultName, alongName, wiresName + "/", momentsName + "/", formsName + "/", inputsName + "/" + inputsList, sumsName} {
		assert.Contains(t, string(head), "`"+name, "the page names each file of a record")
	}
}
