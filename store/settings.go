package store

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pawl/wear"
)

// scopes are the scopes as keys name them, widest first: never reorder.
var scopes = []wear.Scope{wear.ForBook, wear.ForKind, wear.ForModel, wear.ForBike, wear.ForPart}

// settingsOf is where the settings of a kind or model, or of a bike or part,
// are kept.
func settingsOf(scope wear.Scope, key string, of wear.ID) []byte {
	k := []byte{byte(slices.Index(scopes, scope))}
	if scope == wear.ForBike || scope == wear.ForPart {
		return be64(k, uint64(of))
	}
	return append(append(k, strings.ToLower(key)...), 0)
}

func settingKey(s wear.Setting) []byte {
	return be64(be48(settingsOf(s.Scope, s.Key, s.Of), s.At), s.ID)
}

// AddSetting adds a choice of the user and gives it its ID.
func (t *Tx) AddSetting(s wear.Setting) (wear.Setting, error) {
	if err := t.scoped(s); err != nil {
		return s, err
	}
	if s.At != wear.Ever {
		if err := dateable("setting", s.At); err != nil {
			return s, err
		}
	}
	id, err := t.newID()
	if err != nil {
		return s, err
	}
	s.ID = uint64(id)
	return s, t.put(bktSettings, settingKey(s), s)
}

// scoped refuses a setting that does not say rightly what it holds for.
func (t *Tx) scoped(s wear.Setting) (err error) {
	keyed, owned := false, false
	switch s.Scope {
	case wear.ForBook:
	case wear.ForKind, wear.ForModel:
		keyed = true
	case wear.ForBike:
		owned = true
		_, err = t.Bike(s.Of)
	case wear.ForPart:
		owned = true
		_, err = t.Part(s.Of)
	default:
		return &ConflictError{"setting", s.Name, fmt.Sprintf("is for a %q", s.Scope), fmt.Sprintf("one of %v", scopes)}
	}
	if err == nil && (s.Name == "" || keyed != (s.Key != "") || owned != (s.Of != 0) || len(s.Key) > maxName || strings.Contains(s.Key, "\x00")) {
		return &ConflictError{"setting", s.Name, "does not say what it is and which " + string(s.Scope) + " it is for", "name both"}
	}
	return err
}

// VoidSetting takes a setting back; it stays in the history.
func (t *Tx) VoidSetting(id uint64) error {
	all, err := t.Settings()
	if err != nil {
		return err
	}
	for _, s := range all {
		if s.ID == id {
			s.Void = true
			return t.put(bktSettings, settingKey(s), s)
		}
	}
	return &UnknownError{Noun: "setting", Name: fmt.Sprintf("%x", id)}
}

// Settings returns all settings, those taken back included: the widest scope
// first, then the oldest.
func (t *Tx) Settings() ([]wear.Setting, error) {
	all, err := list[wear.Setting](t, bktSettings, nil)
	sortSettings(all)
	return all, err
}

func sortSettings(all []wear.Setting) {
	slices.SortFunc(all, func(a, b wear.Setting) int {
		return cmp.Or(
			cmp.Compare(slices.Index(scopes, a.Scope), slices.Index(scopes, b.Scope)),
			cmp.Compare(a.At, b.At), cmp.Compare(a.ID, b.ID))
	})
}

// emptySettings reports whether the book has no setting at all, as most have.
func (t *Tx) emptySettings() bool {
	for range t.under(bktSettings, nil) {
		return false
	}
	return true
}

// settingsUnder are the settings of one kind, model, bike, … Those that are for
// many bikes are remembered.
func (t *Tx) settingsUnder(prefix string) ([]wear.Setting, error) {
	read := func() ([]wear.Setting, error) { return list[wear.Setting](t, bktSettings, []byte(prefix)) }
	if t.reads == nil || int(prefix[0]) >= slices.Index(scopes, wear.ForBike) {
		return read()
	}
	return remembered(t.reads.wide, prefix, read)
}

// settingsFor returns the settings that hold for a bike and the parts on it.
func (t *Tx) settingsFor(bike wear.ID, parts []wear.PartCase, today wear.Instant) ([]wear.Setting, error) {
	if none := t.reads != nil && t.emptySettings(); none {
		return nil, nil
	}
	where := map[string]bool{
		string(settingsOf(wear.ForBook, "", 0)):    true,
		string(settingsOf(wear.ForBike, "", bike)): true,
	}
	for _, pc := range parts {
		where[string(settingsOf(wear.ForPart, "", pc.Part.ID))] = true
		where[string(settingsOf(wear.ForKind, pc.Part.Kind, 0))] = true
		if kind, ok := wear.Default().Kind(pc.Part.Kind); ok {
			where[string(settingsOf(wear.ForKind, kind.Family, 0))] = true
		}
		if pc.Part.Model != "" {
			where[string(settingsOf(wear.ForModel, pc.Part.Model, 0))] = true
		}
	}
	var all []wear.Setting
	for prefix := range where {
		some, err := t.settingsUnder(prefix)
		if err != nil {
			return nil, err
		}
		for _, s := range some {
			if !s.Void && s.At <= today {
				all = append(all, s)
			}
		}
	}
	sortSettings(all)
	return all, nil
}
