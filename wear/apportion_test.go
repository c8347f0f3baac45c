package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestApportion(t *testing.T) {
	assert.Equal(t, []int64{7, 7, 6}, Apportion(20, []int{0, 0, 0}))
	assert.Equal(t, []int64{5, 15}, Apportion(20, []int{10, 30}))
	assert.Equal(t, []int64{0, 20}, Apportion(20, []int{0, 30}))
	assert.Equal(t, []int64{0, 0}, Apportion(0, []int{3, 4}))
	assert.Equal(t, []int64{7}, Apportion(7, []int{4}))
	assert.Empty(t, Apportion(0, nil))
}

func TestApportionAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.Int64Range(0, 1_000_000_000).Draw(t, "whole")
		weights := rapid.SliceOfN(rapid.IntRange(0, 1000), 1, 12).Draw(t, "weights")
		sum, all := int64(0), 0
		for _, w := range weights {
			all += w
		}
		for i, p := range Apportion(whole, weights) {
			sum += p
			if all > 0 {
				assert.InDelta(t, float64(whole)*float64(weights[i])/float64(all), float64(p), 1)
			}
		}
		assert.Equal(t, whole, sum)
	})
}
