package main

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"time"
)

// memoryEach is how often the server's memory is looked at, and memoryMay what its mean in the last quarter may be of that in
// the second: the first is left out, in which the caches fill. In less than memoryLeast they are still filling.
const (
	memoryEach  = 5 * time.Second
	memoryMay   = 1.15
	memoryLeast = 8 * time.Minute
)

var resident = regexp.MustCompile(`VmRSS:\s+(\d+) kB`)

// residentOf is the memory of a process that is in use, in MB; 0 where the system does not tell.
func residentOf(pid int) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	found := resident.FindSubmatch(text)
	if found == nil {
		return 0
	}
	kB, err := strconv.ParseFloat(string(found[1]), 64)
	if err != nil {
		return 0
	}
	return kB / 1024
}

// watch samples a process's memory until the function it gives is called, which gives the samples in MB.
func watch(pid int, each time.Duration) func() []float64 {
	end, all := make(chan bool), make(chan []float64)
	go func() {
		var samples []float64
		tick := time.NewTicker(each)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				samples = append(samples, residentOf(pid))
			case <-end:
				all <- samples
				return
			}
		}
	}()
	return func() []float64 {
		end <- true
		return <-all
	}
}

// flat says what the samples show, and fails when the memory grew in a time that is long enough to say so.
func flat(samples []float64, long time.Duration, out io.Writer) error {
	n := len(samples) / 4
	if n == 0 {
		fmt.Fprintln(out, "\nToo short to say anything of memory.")
		return nil
	}
	most := 0.0
	for _, s := range samples {
		most = max(most, s)
	}
	second, last := mean(samples[n:2*n]), mean(samples[len(samples)-n:])
	fmt.Fprintf(out, "\nMemory of the server by quarters of the time: %.0f, %.0f, %.0f, %.0f MB; most %.0f MB, of %d samples.\n",
		mean(samples[:n]), second, mean(samples[2*n:len(samples)-n]), last, most, len(samples))
	if long < memoryLeast {
		fmt.Fprintf(out, "Whether it grows shows from %.0f minutes on.\n", memoryLeast.Minutes())
		return nil
	}
	if last > memoryMay*second {
		return fmt.Errorf("the server's memory grew from %.0f MB in the second quarter to %.0f MB in the last", second, last)
	}
	return nil
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func loadAverage() string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "not known"
	}
	return strings.Join(strings.Fields(string(text))[:3], " ")
}

// machine says on what the numbers were measured.
func machine() string {
	text, err := os.ReadFile("/proc/cpuinfo")
	name := "a processor that does not say its name"
	if found := regexp.MustCompile(`model name\s*: (.*)`).FindSubmatch(text); err == nil && found != nil {
		name = strings.Join(strings.Fields(string(found[1])), " ")
	}
	return fmt.Sprintf("%d cores of %s, %s", runtime.NumCPU(), name, runtime.Version())
}
