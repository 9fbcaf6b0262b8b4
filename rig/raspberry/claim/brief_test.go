package claim

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestALongCommandLineIsCut(t *testing.T) {
	assert.Equal(t, "hilrig ready --bank memory", brief([]string{"hilrig", "ready", "--bank", "memory"}))
	cut := brief([]string{"hilrig", strings.Repeat("ö", 500)})
	assert.Less(t, len(cut), 210)
	assert.True(t, strings.HasSuffix(cut, "ö..."), cut)
}
