package quantity_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/quantity"
)

func ExampleNormaliseLength() {
	for _, text := range []string{`8½"`, "7 to 9 in", "more than a foot", "20±2 cm", "zehn oder elf Zoll"} {
		r, err := quantity.NormaliseLength(text, quantity.Options{})
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(r.Quantity)
	}
	// Output:
	// 21.59 cm (said in; step 1.27)
	// 17.78..22.86 cm (said in; step 2.54)
	// >=30.48 cm (said ft; step 30.48)
	// 18..22 cm (best 20)
	// 25.4..27.94 cm (said in; step 2.54)
}

func ExampleNormaliseMass() {
	r, _ := quantity.NormaliseMass("3 dwt 12 gr", quantity.Options{})
	fmt.Println(r.Quantity)
	_, err := quantity.NormaliseMass("22.5 gr", quantity.Options{})
	fmt.Println(err)
	// Output:
	// 5.44310844 g (said gr; step 0.06479891)
	// reading "22.5 gr": at "gr": "gr" is the grain to some and the gram to others; perhaps "22.5 grain" or "22.5 g"
}

func ExampleNormaliseCount() {
	r, _ := quantity.NormaliseCount("one or two", quantity.Options{})
	fmt.Println(r.Quantity)
	// Output: 1..2
}

func ExampleQuantity_Show() {
	r, _ := quantity.NormaliseLength("8 in", quantity.Options{})
	fmt.Println(r.Show(quantity.CM))
	fmt.Println(r.Show(quantity.IN))
	r, _ = quantity.NormaliseLength("over a foot", quantity.Options{})
	fmt.Println(r.Show(quantity.CM))
	// Output:
	// 20 cm
	// 8 in
	// 30 cm or more
}
