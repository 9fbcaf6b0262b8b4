package suites

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

func TestAResultCallsFilesByTheirNames(t *testing.T) {
	for path, want := range map[string]string{
		"car.yaml": "car.yaml", "./car.yaml": "car.yaml", "../a/car.yaml": "car.yaml", "/home/me/a/car.yaml": "car.yaml", "a/b/../car.yaml": "car.yaml",
		"standard/split.yaml": "standard/split.yaml", "standard/mine.yaml": "mine.yaml", "demo/bramble.yaml": "demo/bramble.yaml", "/home/me/demo/bramble.yaml": "demo/bramble.yaml",
	} {
		assert.Equal(t, want, FileName(path), path)
	}
}

func TestSuitesOfOneNameAreNumbered(t *testing.T) {
	suite := func(path string) *file.Suite { return &file.Suite{Source: language.Source{Path: path}} }
	s := &Setup{Car: &file.Car{}, Bench: &file.Bench{}, Suites: []*file.Suite{suite("a/s.yaml"), suite("b/s.yaml"), suite("t.yaml"), suite("a/s.yaml")}}
	s.nameSuites()
	var names []string
	for _, x := range s.Suites {
		names = append(names, nameOf(&x.Source))
	}
	assert.Equal(t, []string{"s.yaml", "s.yaml (2)", "t.yaml", "s.yaml"}, names)
	assert.Equal(t, "b/s.yaml", s.typedPaths()["s.yaml (2)"])
	assert.NotContains(t, s.typedPaths(), "t.yaml")
}
