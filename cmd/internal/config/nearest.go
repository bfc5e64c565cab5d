package config

// nearest finds the known word that a misspelt one most likely means, or
// nothing when none is near: within a third of its letters by the distance of
// Damerau (1964), ties to the first.
func nearest(word string, known []string) string {
	if len(word) > 64 {
		return ""
	}
	best, found := max(len(word)/3, 1)+1, ""
	for _, k := range known {
		if d := distance([]rune(word), []rune(k)); d < best && d < len(word) {
			best, found = d, k
		}
	}
	return found
}

// distance counts the letters to insert, drop, change or swap with their
// neighbour to get from a to b.
func distance(a, b []rune) int {
	var before []int // the row above last
	last := make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range a {
		row := make([]int, len(b)+1)
		row[0] = i + 1
		for j := range b {
			change := last[j]
			if a[i] != b[j] {
				change++
			}
			row[j+1] = min(change, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last = last, row
	}
	return last[len(b)]
}
