package store_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pawl/store"
)

// TestRideRecordOfAnotherTime: what a record cannot have said in its version is
// refused, not guessed at.
func TestRideRecordOfAnotherTime(t *testing.T) {
	b := store.At(filepath.Join(t.TempDir(), "book"), store.Options{})
	filled(t, b, 1)
	tests := []struct {
		name           string
		version, marks byte
		want           string
	}{
		{"version 0", 0, 0, "ride record of version 0"},
		{"a version to come", 4, 0, "ride record of version 4"},
		{"a mark to come", 3, 1 << 7, "marks 128 in a ride record of version 3: not known"},
		{"rides unlike it in version 2", 2, 1 << 5, "marks 32 in a ride record of version 2: not known"},
		{"a twin's ride in version 2", 2, 1 << 6, "marks 64 in a ride record of version 2: not known"},
		{"marked", 3, 3, "marks 3: not known"},
		{"uplift", 3, 3 << 2, "marks 12: not known"},
	}
	back := errors.New("take it back")
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.ErrorIs(t, b.Update(context.Background(), func(tx *store.Tx) error {
				rides := tx.Bolt().Bucket([]byte("rides"))
				k, v := rides.Cursor().First()
				raw := append([]byte{tt.version, tt.marks}, v[2:]...)
				require.NoError(t, rides.Put(append([]byte(nil), k...), raw))
				_, err := tx.Ride(madeRide(0).ID)
				require.ErrorContains(t, err, tt.want)
				return back
			}), back)
		})
	}
}
