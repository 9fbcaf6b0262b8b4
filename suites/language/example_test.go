package language_test

import (
	"fmt"

	"hilrig/suites/language"
)

var shelfTable = language.Table{Name: "a shelf", Keys: []language.Key{
	{Name: "shelf", Kind: language.Text, Required: true, Doc: "its name"},
	{Name: "depth", Kind: language.Measure, Quantity: language.Length, Required: true, Least: "100 mm", Most: "1 m", Doc: "from front to wall"},
	{Name: "wood", Kind: language.Word, Words: []string{"beech", "birch", "pine"}, Doc: "what it is made of"},
}}

func ExampleReader() {
	r := language.NewReader(language.Source{Path: "shelf.yaml", Data: []byte("shelf: upper\ndepth: 25 cm\nwood: birch\n")})
	top := r.Tree("shelf")
	if top == nil {
		fmt.Println(r.Problems)
		return
	}
	v := r.Read(top, &shelfTable)
	if len(r.Problems) > 0 {
		fmt.Println(r.Problems)
		return
	}
	fmt.Println(v.Word("shelf"), v.Number("depth"), v.Word("wood"))
	// Output: upper 0.25 birch
}

func ExampleProblems() {
	r := language.NewReader(language.Source{Path: "shelf.yaml", Data: []byte("shelf: upper\ndepth: 25\nwood: birsh\n")})
	r.Read(r.Tree("shelf"), &shelfTable)
	fmt.Println(r.Problems)
	// Output:
	// shelf.yaml:2:8: depth: "25" has no unit; a bare number: write it like 330 mm
	//   2 | depth: 25
	//     |        ^
	// shelf.yaml:3:7: wood "birsh" is not known; use birch
	//   3 | wood: birsh
	//     |       ^
}
