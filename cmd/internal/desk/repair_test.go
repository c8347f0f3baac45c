package desk

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"pawl/store"
)

// A damaged row of what is derived is one error that names the way out, and the
// way out mends it.
func TestRepairMendsWhatIsDerived(t *testing.T) {
	d := trailDesk(t)
	_, err := d.SignOff(t.Context(), SignOffRequest{Bike: "enduro", Jobs: []string{"chain:clean"}})
	require.NoError(t, err)
	want, err := d.Due(t.Context(), nil, "")
	require.NoError(t, err)

	db, err := bbolt.Open(d.Book.Path(), 0o600, nil)
	require.NoError(t, err)
	require.NoError(t, db.Update(func(tx *bbolt.Tx) error {
		rows := tx.Bucket([]byte("newest"))
		k, _ := rows.Cursor().First()
		return rows.Put(k, []byte{9, 9})
	}))
	require.NoError(t, db.Close())

	_, err = d.Due(t.Context(), nil, "")
	var damaged *store.DamagedError
	require.ErrorAs(t, err, &damaged)
	assert.Contains(t, damaged.Hint(), "pawl audit --repair")
	r, err := d.Audit(t.Context())
	require.NoError(t, err)
	assert.False(t, r.Clean())
	r, err = d.Repair(t.Context())
	require.NoError(t, err)
	assert.True(t, r.Clean(), r.Problems)
	have, err := d.Due(t.Context(), nil, "")
	require.NoError(t, err)
	assert.Equal(t, want, have)
}
