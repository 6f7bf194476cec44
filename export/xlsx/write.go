package xlsx

import (
	"fmt"
	"io"
	"time"

	"github.com/xuri/excelize/v2"

	"wraptally/export/table"
)

// Write writes the workbook. Nothing reaches w unless the whole workbook could
// be made; a *table.Fault names the sheet and cell that stopped it.
func Write(w io.Writer, book *table.Workbook) error {
	if err := table.Verify(book); err != nil {
		return err
	}
	scratch := newScratch()
	defer scratch.close()
	f := excelize.NewFile(excelize.Options{TmpDir: scratch.folder})
	defer f.Close()
	parts := newParts(retouch)
	f.SetZipWriter(func(io.Writer) excelize.ZipWriter { return parts })

	dress, err := newDresser(f)
	if err != nil {
		return err
	}
	if err := addSheets(f, book); err != nil {
		return err
	}
	if err := setProperties(f, book.Properties); err != nil {
		return err
	}
	for _, s := range book.Sheets {
		if err := writeSheet(f, dress, scratch, s); err != nil {
			return err
		}
	}
	if err := table.VerifyNames(book); err != nil {
		return err
	}
	for _, n := range book.Names {
		if err := f.SetDefinedName(&excelize.DefinedName{Name: n.Name, RefersTo: n.Refers}); err != nil {
			return &table.Fault{Problem: fmt.Sprintf("the name %q: %v", n.Name, err)}
		}
	}
	sortContentTypes(f)
	if _, err := f.WriteToBuffer(); err != nil {
		return fmt.Errorf("making the workbook: %w", err)
	}
	return parts.emit(w)
}

func addSheets(f *excelize.File, book *table.Workbook) error {
	for i, s := range book.Sheets {
		if i == 0 {
			if err := f.SetSheetName(f.GetSheetName(0), s.Name); err != nil {
				return &table.Fault{Sheet: s.Name, Problem: err.Error()}
			}
			continue
		}
		if _, err := f.NewSheet(s.Name); err != nil {
			return &table.Fault{Sheet: s.Name, Problem: err.Error()}
		}
	}
	// This must come before any sheet is streamed: afterwards the library would
	// read each of them back into memory.
	f.SetActiveSheet(0)
	for _, s := range book.Sheets {
		if s.Hidden {
			if err := f.SetSheetVisible(s.Name, false); err != nil {
				return err
			}
		}
	}
	return nil
}

func setProperties(f *excelize.File, p table.Properties) error {
	at := p.Created.UTC()
	if at.Year() < 1980 {
		at = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	stamp := at.Format("2006-01-02T15:04:05Z")
	if err := f.SetDocProps(&excelize.DocProperties{
		Title: p.Title, Subject: p.Subject, Description: p.Description, Keywords: p.Keywords,
		Creator: p.Creator, LastModifiedBy: p.Creator, Created: stamp, Modified: stamp,
	}); err != nil {
		return err
	}
	return f.SetAppProps(&excelize.AppProperties{Application: p.Creator})
}
