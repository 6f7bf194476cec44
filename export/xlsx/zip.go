package xlsx

import (
	"archive/zip"
	"bytes"
	"cmp"
	"compress/flate"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"math"
	"runtime"
	"slices"
	"sort"
	"sync"

	"github.com/xuri/excelize/v2"
)

// parts collects the parts of the package compressed, in whatever order they
// come, and emits them sorted. Large parts are compressed in blocks of fixed
// size on all processors: the bytes do not depend on how many there are.
type parts struct {
	all     []*part
	retouch func(name string, content []byte) []byte
	busy    chan struct{} // holds a token for each block being compressed
}

const (
	// blockSize is large enough that starting each block afresh costs well
	// under one per cent of size.
	blockSize = 1 << 20
	// level is the one archive/zip itself uses.
	level = 5
	// A part past this size would need the Zip64 format, which spreadsheet
	// programs read only in a form of their own.
	mostPart = math.MaxUint32
)

var errNoFS = errors.New("xlsx: whole file systems are not written")

func newParts(retouch func(string, []byte) []byte) *parts {
	return &parts{retouch: retouch, busy: make(chan struct{}, runtime.GOMAXPROCS(0)+1)}
}

// Create opens the next part; the one before it is then complete.
func (p *parts) Create(name string) (io.Writer, error) {
	p.finish()
	next := &part{name: name, parts: p}
	p.all = append(p.all, next)
	return next, nil
}

// AddFS is not needed here.
func (p *parts) AddFS(fs.FS) error { return errNoFS }

// Close completes the last part.
func (p *parts) Close() error { p.finish(); return nil }

func (p *parts) finish() {
	if n := len(p.all); n > 0 {
		p.all[n-1].finish()
	}
}

// emit writes the archive: the content types first, as readers expect, then the
// other parts by name, all dated 1980-01-01, the earliest an archive knows.
func (p *parts) emit(w io.Writer) error {
	p.finish()
	slices.SortFunc(p.all, func(a, b *part) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), cmp.Compare(a.name, b.name))
	})
	out := zip.NewWriter(w)
	for _, part := range p.all {
		part.running.Wait()
		if part.size > mostPart {
			return fmt.Errorf("the part %s is %d bytes, more than a workbook can hold in one sheet; split the data", part.name, part.size)
		}
		const newYear1980 = 1<<5 | 1
		header := &zip.FileHeader{Name: part.name, Method: zip.Deflate, CRC32: part.sum, ModifiedDate: newYear1980, //nolint:staticcheck // Modified would add a field of its own to every entry
			UncompressedSize64: uint64(part.size), CompressedSize64: uint64(part.packedSize())}
		entry, err := out.CreateRaw(header)
		if err != nil {
			return err
		}
		for i := range part.blocks {
			if _, err := entry.Write(part.blocks[i].packed.Bytes()); err != nil {
				return err
			}
		}
	}
	return out.Close()
}

// part is one file of the package.
type part struct {
	name    string
	parts   *parts
	plain   []byte // the block being filled
	blocks  []*block
	running sync.WaitGroup
	size    int64
	sum     uint32
	done    bool
}

type block struct{ packed bytes.Buffer }

func (p *part) rank() int {
	switch p.name {
	case "[Content_Types].xml":
		return 0
	case "_rels/.rels":
		return 1
	}
	return 2
}

func (p *part) packedSize() (n int64) {
	for _, b := range p.blocks {
		n += int64(b.packed.Len())
	}
	return n
}

// Write takes the next bytes of the part.
func (p *part) Write(data []byte) (int, error) {
	n := len(data)
	p.size += int64(n)
	p.sum = crc32.Update(p.sum, crc32.IEEETable, data)
	for len(data) > 0 {
		if p.plain == nil {
			p.plain = plainBlocks.Get().([]byte)[:0]
		}
		take := min(len(data), blockSize-len(p.plain))
		p.plain = append(p.plain, data[:take]...)
		data = data[take:]
		if len(p.plain) == blockSize {
			p.pack(false)
		}
	}
	return n, nil
}

func (p *part) finish() {
	if p.done {
		return
	}
	p.done = true
	if p.parts.retouch != nil && len(p.blocks) == 0 {
		if better := p.parts.retouch(p.name, p.plain); better != nil {
			p.plain, p.size, p.sum = better, int64(len(better)), crc32.ChecksumIEEE(better)
		}
	}
	p.pack(true)
}

// pack compresses the block just filled, beside whatever else is being done.
func (p *part) pack(last bool) {
	plain, b := p.plain, new(block)
	p.plain = nil
	p.blocks = append(p.blocks, b)
	p.parts.busy <- struct{}{}
	p.running.Go(func() {
		defer func() { <-p.parts.busy }()
		z := packers.Get().(*flate.Writer)
		z.Reset(&b.packed)
		// Writing to memory cannot fail.
		_, _ = z.Write(plain)
		if last {
			_ = z.Close()
		} else {
			_ = z.Flush() // ends on a byte, so that the next block can follow
		}
		packers.Put(z)
		if cap(plain) == blockSize {
			plainBlocks.Put(plain) //nolint:staticcheck // 24 bytes once a block of a megabyte
		}
	})
}

var (
	packers = sync.Pool{New: func() any {
		z, err := flate.NewWriter(nil, level)
		if err != nil {
			panic(err) // only for a level that does not exist
		}
		return z
	}}
	plainBlocks = sync.Pool{New: func() any { return make([]byte, 0, blockSize) }}
)

// sortContentTypes puts the list of content types in order; it is gathered from
// maps.
func sortContentTypes(f *excelize.File) {
	if f.ContentTypes == nil {
		return
	}
	d, o := f.ContentTypes.Defaults, f.ContentTypes.Overrides
	sort.SliceStable(d, func(i, j int) bool { return d[i].Extension < d[j].Extension }) // of types without a name outside the library
	sort.SliceStable(o, func(i, j int) bool { return o[i].PartName < o[j].PartName })
}
