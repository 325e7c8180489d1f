package vocabulary

// EditDistance returns how many letters have to be put in, left out, changed or swapped with a
// neighbour to make one text of the other: the restricted form of Damerau and Levenshtein, which
// edits no part twice. It counts letters as they stand, so that upper and lower case differ; texts
// that are not UTF-8 count each bad byte as one letter.
func EditDistance(a, b string) int { return distanceWithin(a, b, max(len(a), len(b))) }

// distanceWithin is EditDistance, or most+1 as soon as it is known to be more than most.
func distanceWithin(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	before, last, next := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		next[0] = i
		least := i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			next[j] = min(last[j]+1, next[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
			least = min(least, next[j])
		}
		if least > most {
			return most + 1
		}
		before, last, next = last, next, before
	}
	return last[len(y)]
}
