package store

import "pawl/wear"

// Each of these reads one field of a fact by the number that wear gives it; a test
// holds them to what the library reads. A number that is not here is left to the
// library.

func (r *quickReader) signOff(key uint64, s *wear.SignOff) {
	switch key {
	case 1:
		s.ID = r.uint()
	case 2:
		s.Part = r.id()
	case 3:
		s.Bike = r.id()
	case 4:
		s.At = r.instant()
	case 5:
		s.Job = r.word()
	case 6:
		s.By = r.word()
	case 7:
		s.Torque = r.float()
	case 8:
		s.Cost = r.int()
	case 9:
		s.Minutes = int(r.int())
	case 10:
		s.Note = r.text()
	case 11:
		s.Fitted = r.id()
	case 12:
		s.Declined = r.bool()
	case 13:
		s.Void = r.bool()
	case 14:
		s.Witness = r.bool()
	default:
		r.odd = true
	}
}

func (r *quickReader) look(key uint64, l *wear.Look) {
	switch key {
	case 1:
		l.ID = r.uint()
	case 2:
		l.Part = r.id()
	case 3:
		l.Bike = r.id()
	case 4:
		l.At = r.instant()
	case 5:
		l.Word = wear.Word(r.word())
	case 6:
		l.Note = r.text()
	case 7:
		l.By = r.word()
	case 8:
		l.Void = r.bool()
	default:
		r.odd = true
	}
}

// reading leaves gauges and several places at a sitting to the library.
func (r *quickReader) reading(key uint64, f *wear.Reading) {
	switch key {
	case 1:
		f.ID = r.uint()
	case 2:
		f.Part = r.id()
	case 3:
		f.Bike = r.id()
	case 4:
		f.At = r.instant()
	case 5:
		f.Of = wear.ReadingOf(r.word())
	case 6:
		f.Value = r.float()
	case 7:
		f.Tool = r.word()
	case 8:
		f.Length = r.float()
	case 9:
		f.Pitches = int(r.int())
	case 10:
		f.Note = r.text()
	case 11:
		f.Void = r.bool()
	case 14:
		f.Which = r.word()
	case 15:
		f.Doubtful = r.bool()
	case 16:
		f.Plate = r.float()
	default:
		r.odd = true
	}
}

func (r *quickReader) stay(key uint64, s *wear.Stay) {
	switch key {
	case 1:
		s.Part = r.id()
	case 2:
		s.Host = r.id()
	case 3:
		s.From = r.instant()
	case 4:
		s.To = r.instant()
	case 5:
		s.Opening = r.load()
	case 6:
		s.Came = r.bool()
	default:
		r.odd = true
	}
}

func (r *quickReader) part(key uint64, p *wear.Part) {
	switch key {
	case 1:
		p.ID = r.id()
	case 2:
		p.Kind = r.word()
	case 3:
		p.Name = r.text()
	case 4:
		p.Model = r.word()
	case 5:
		p.Teeth = int(r.int())
	case 6:
		p.Cogs = r.ints()
	case 7:
		p.Material = r.word()
	case 8:
		p.Speeds = int(r.int())
	case 9:
		p.Narrow = r.bool()
	case 10:
		p.End = &wear.End{}
		r.fields(func(key uint64) { r.end(key, p.End) })
	default:
		r.partMore(key, p)
	}
}

func (r *quickReader) partMore(key uint64, p *wear.Part) {
	switch key {
	case 11:
		p.Note = r.text()
	case 12:
		p.Treated = r.word()
	case 13:
		p.Stamp = r.float()
	default:
		r.odd = true
	}
}

func (r *quickReader) end(key uint64, e *wear.End) {
	switch key {
	case 1:
		e.At = r.instant()
	case 2:
		e.Cause = wear.Cause(r.word())
	default:
		r.odd = true
	}
}

func (r *quickReader) bike(key uint64, b *wear.Bike) {
	switch key {
	case 1:
		b.ID = r.id()
	case 2:
		b.Name = r.text()
	case 3:
		b.Sheet = r.word()
	case 4:
		b.RiderMass = r.float()
	case 5:
		b.Mass = r.float()
	case 6:
		b.Wheel = r.float()
	case 7:
		b.Crr = r.float()
	case 8:
		b.CdA = r.float()
	case 9:
		b.Motor = wear.Motor(r.below(1 << 8))
	case 10:
		b.Speeds = int(r.int())
	case 11:
		b.Fleet = r.bool()
	case 12:
		b.Note = r.text()
	default:
		r.bikeMore(key, b)
	}
}

func (r *quickReader) bikeMore(key uint64, b *wear.Bike) {
	switch key {
	case 13:
		b.Added = r.instant()
	case 14:
		b.Guide = r.bool()
	case 15:
		b.Owner = r.id()
	case 16:
		b.Depot = r.word()
	case 17:
		b.Tags = r.words()
	case 18:
		b.Price = r.int()
	default:
		r.odd = true
	}
}
