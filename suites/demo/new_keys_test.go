package demo_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// The car to start from shows every key of a policy: those that are not asked stand behind a
// mark, and are right when it is taken away.
func TestTheCarToStartFromShowsEveryKeyOfAPolicy(t *testing.T) {
	text := string(demo.New("mycar")[0].Data)
	for _, key := range file.PolicyKeys() {
		if key == "opposite_lock_share" {
			continue // it goes with another word than stands there
		}
		assert.Regexp(t, `(?m)^  (#   )?`+key+`: ?`, text)
	}
	marked := regexp.MustCompile(`(?m)^  #   ([a-z_]+): `)
	keys := marked.FindAllStringSubmatch(text, -1)
	require.Greater(t, len(keys), 13)
	all := marked.ReplaceAllString(text, "  $1: ")
	car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(all)})
	require.NoError(t, err)
	for _, key := range keys {
		assert.Contains(t, car.Asked, key[1])
		one := strings.Replace(text, "  #   "+key[1]+": ", "  "+key[1]+": ", 1)
		_, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(one)})
		assert.NoError(t, err, key[1])
	}
}
