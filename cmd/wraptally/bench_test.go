package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"wraptally/export/xlsx/xlsxtest"
)

// BenchmarkJob measures the whole job (survey file in, workbooks out) against a
// raw streaming write of the very same cells in the same run:
//
//	go test -run '^$' -bench Job -benchtime 1x ./cmd/wraptally
//
// job/raw is the ratio of the times, peak-ratio that of the peaks of the heap.
func BenchmarkJob(b *testing.B) {
	for _, n := range []int{100, 10_000, 100_000} {
		b.Run(fmt.Sprintf("defects=%d", n), func(b *testing.B) {
			dir := b.TempDir()
			survey := filepath.Join(dir, "survey.csv")
			if err := os.WriteFile(survey, benchSurvey(n), 0o644); err != nil {
				b.Fatal(err)
			}
			var job, raw time.Duration
			var jobPeak, rawPeak uint64
			var cells, repeats int
			for b.Loop() {
				repeats++
				books := filepath.Join(dir, fmt.Sprint(repeats))
				if err := os.Mkdir(books, 0o755); err != nil {
					b.Fatal(err)
				}
				took, peak := measured(func() {
					var stderr bytes.Buffer
					if code := run([]string{"estimate", survey, "-o", filepath.Join(books, "out.xlsx"), "-q"}, io.Discard, &stderr); code != exitOK {
						b.Fatalf("exit %d: %s", code, stderr.String())
					}
				})
				job += took
				jobPeak = max(jobPeak, peak)
				cells = 0
				files, err := filepath.Glob(filepath.Join(books, "*.xlsx"))
				if err != nil {
					b.Fatal(err)
				}
				for _, f := range files {
					data, err := os.ReadFile(f)
					if err != nil {
						b.Fatal(err)
					}
					grid, err := xlsxtest.ReadGrid(data)
					if err != nil {
						b.Fatal(err)
					}
					cells += grid.Cells()
					out, err := os.Create(f)
					if err != nil {
						b.Fatal(err)
					}
					took, peak := measured(func() {
						if err := xlsxtest.RawWrite(out, grid); err != nil {
							b.Fatal(err)
						}
					})
					raw += took
					rawPeak = max(rawPeak, peak)
					if err := out.Close(); err != nil {
						b.Fatal(err)
					}
				}
				if err := os.RemoveAll(books); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(cells), "cells")
			b.ReportMetric(job.Seconds()/float64(repeats), "job-s")
			b.ReportMetric(raw.Seconds()/float64(repeats), "raw-s")
			b.ReportMetric(job.Seconds()/raw.Seconds(), "job/raw")
			b.ReportMetric(float64(jobPeak)/1e6, "job-peak-MB")
			b.ReportMetric(float64(rawPeak)/1e6, "raw-peak-MB")
			b.ReportMetric(float64(jobPeak)/float64(rawPeak), "peak-ratio")
		})
	}
}

// measured runs f and gives its time and how far the heap rose above what was
// in use before.
func measured(f func()) (time.Duration, uint64) {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	base := m.HeapInuse
	var peak atomic.Uint64
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(20 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-stop:
				return
			case <-tick.C:
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				peak.Store(max(peak.Load(), m.HeapInuse))
			}
		}
	}()
	start := time.Now()
	f()
	took := time.Since(start)
	runtime.ReadMemStats(&m)
	close(stop)
	<-stopped
	top := max(peak.Load(), m.HeapInuse)
	if top < base {
		return took, 1
	}
	return took, max(1, top-base)
}

// benchSurvey is a survey of n defects on lines of a hundred, two metres apart,
// in areas of twenty lines; the same bytes every time.
func benchSurvey(n int) []byte {
	sizes := []struct {
		size     string
		od, wall float64
	}{{"2", 60.3, 3.91}, {"3", 88.9, 5.49}, {"4", 114.3, 6.02}, {"6", 168.3, 7.11}, {"8", 219.1, 8.18}, {"12", 323.8, 9.53}}
	var buf bytes.Buffer
	buf.WriteString("id,line,area,chainage_m,od_mm,size,series,wall_mm,axial_mm,circ_mm,remaining_mm,leaking,clock,pressure_mpa,surface_temp_c,design_temp_c,surface,access\n")
	for i := range n {
		line := i / 100
		s := sizes[line%len(sizes)]
		leaking, remaining := "no", s.wall*(0.4+0.05*float64(i%9))
		if i%4 == 0 {
			leaking, remaining = "yes", 0
		}
		fmt.Fprintf(&buf, "D%d,L-%04d,Area %02d,%d,%g,%s,NPS,%g,%d,%d,%.2f,%s,%d:00,%.1f,%d,40,dry,ground\n",
			i+1, line, line/20, 2*(i%100)+1, s.od, s.size, s.wall, 8+i%13, 6+i%11, remaining, leaking, 1+i%12, 0.3+0.1*float64(i%5), 15+i%4*5)
	}
	return buf.Bytes()
}

// BenchmarkCheck measures the check of a large survey, of which rows and repairs are
// not held, against a raw reading of the same file with encoding/csv:
//
//	go test -run '^$' -bench Check -benchtime 1x ./cmd/wraptally
func BenchmarkCheck(b *testing.B) {
	const n = 200_000
	survey := filepath.Join(b.TempDir(), "survey.csv")
	if err := os.WriteFile(survey, benchSurvey(n), 0o644); err != nil {
		b.Fatal(err)
	}
	var check, raw time.Duration
	var peak uint64
	for b.Loop() {
		took, top := measured(func() {
			var stderr bytes.Buffer
			if code := run([]string{"check", survey}, io.Discard, &stderr); code != exitOK {
				b.Fatalf("exit %d: %s", code, stderr.String())
			}
		})
		check, peak = check+took, max(peak, top)
		took, _ = measured(func() {
			f, err := os.Open(survey)
			if err != nil {
				b.Fatal(err)
			}
			defer f.Close()
			r := csv.NewReader(f)
			for err == nil {
				_, err = r.Read()
			}
			if err != io.EOF {
				b.Fatal(err)
			}
		})
		raw += took
	}
	b.ReportMetric(check.Seconds()/raw.Seconds(), "check/raw")
	b.ReportMetric(check.Seconds()/float64(b.N)/n*1e6, "µs/row")
	b.ReportMetric(float64(peak)/1e6, "peak-MB")
}
