package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// A wheelbase changed in one place and not in the other is told, from the demand's own
// within on.
func TestAnotherWheelbaseInTheDemandIsAWarning(t *testing.T) {
	const car, demand = "\nwheelbase: 330 mm", "\n    wheelbase: 330 mm"
	tests := []struct {
		name     string
		from, to string
		want     string
	}{
		{"the same", car, car, ""},
		{"the car's", car, "\nwheelbase: 260 mm",
			"demo/bramble.yaml:43:16: the demand's wheelbase, 330 mm, is 26.9 % longer than the car's, 260 mm in line 6; its within is 5 %; write the same in both, unless the firmware was built for another car"},
		{"the car's in another unit", car, "\nwheelbase: 33 cm", ""},
		{"the demand's", demand, "\n    wheelbase: 0.3 m",
			"demo/bramble.yaml:43:16: the demand's wheelbase, 300 mm, is 9.1 % shorter than the car's, 330 mm in line 6; its within is 5 %; "},
		{"within", demand, "\n    wheelbase: 346.5 mm", ""}, // 330 mm and 5 %
		{"just beyond", demand, "\n    wheelbase: 347 mm", "demo/bramble.yaml:43:16: the demand's wheelbase, 347 mm, is 5.2 % longer"},
		{"no demand", demand[:1] + "  demand:\n", "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := string(demo.CarYAML)
			if tt.to == "" {
				begin, end := strings.Index(text, tt.from), strings.Index(text, "\n  turn_from")
				text = text[:begin] + text[end:]
			} else {
				require.Contains(t, text, tt.from)
				text = strings.Replace(text, tt.from, tt.to, 1)
			}
			c, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: []byte(text)})
			require.NoError(t, err)
			got := file.LintCar(c)
			if tt.want == "" {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Equal(t, language.Warning, got[0].Level)
			assert.True(t, strings.HasPrefix(got[0].Error(), tt.want), got[0].Error())
			assert.Contains(t, got[0].Excerpt, "43 |     wheelbase: ")
		})
	}
}
