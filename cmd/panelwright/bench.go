package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"strings"
	"time"

	qr "github.com/piglig/go-qr"
	"github.com/spf13/cobra"

	"panelwright"
	"panelwright/internal/book"
	"panelwright/internal/web"
)

// benchMemory is what the bench keeps its memory to, where it can: beyond it, what is no longer used is given back sooner. What plans,
// packs and sliding stations are kept takes about half of it; two plans and two packs in the making take the rest.
const benchMemory = 512 << 20

// benchGrace is how long requests that are under way may take to end when the bench is stopped.
const benchGrace = 5 * time.Second

func benchCommand() *cobra.Command {
	var file, address string
	var network bool
	c := &cobra.Command{
		Use:   "bench",
		Short: "Open the bench: the same plans in a browser, kept in a book",
		Long: `bench serves pages on which a vehicle is surveyed, set out, checked and printed, until it is
stopped with Ctrl-C. Vehicles are kept in a book, one file, which is made when it is not there.

It answers this machine only. With --network it answers the whole network that the machine is
on, and then every page needs the key that is shown at the start, as words and as a code to
scan: a new one after each start. Whoever has the key can read and change everything in the
book; what is sent is not encrypted, so use it on a network that you trust.

Exit codes: 0 stopped; 2 usage, or a book that cannot be opened; 3 our failure.`,
		Example: "  panelwright bench\n  panelwright bench --book shop.book --network",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if network && !c.Flags().Changed("address") {
				address = "0.0.0.0:8745"
			}
			return bench(c.Context(), file, address, network, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&file, "book", "bench.book", "file of the book")
	c.Flags().StringVar(&address, "address", "127.0.0.1:8745", "address and port to listen on; port 0 takes a free one")
	c.Flags().BoolVar(&network, "network", false, "answer the shop's network, with a key")
	return c
}

// bench serves until ctx ends.
func bench(ctx context.Context, file, address string, network bool, out, errOut io.Writer) error {
	if err := addressFits(address, network); err != nil {
		return err
	}
	if debug.SetMemoryLimit(-1) == math.MaxInt64 { // not set by GOMEMLIMIT
		debug.SetMemoryLimit(benchMemory)
	}
	kept, err := book.Open(file)
	if err != nil {
		return fmt.Errorf("open the book: %w", err)
	}
	defer kept.Close()
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; give another with --address", address, err)
	}
	bound := listener.Addr().String()
	_, port, err := net.SplitHostPort(bound)
	if err != nil {
		return oursError{err}
	}
	asked, _, err := net.SplitHostPort(address)
	if err != nil {
		return oursError{err}
	}
	o := web.Options{Book: kept, Address: net.JoinHostPort(asked, port), Network: network, Version: panelwright.Version, Log: errOut}
	fmt.Fprintf(out, "The bench is open. Book: %s\n", kept.Path())
	if network {
		o.Key, o.Hosts = web.NewKey(), machineNames()
		showDoor(out, o, asked, port)
	} else {
		fmt.Fprintf(out, "\n  http://%s/\n\n", net.JoinHostPort(localName(asked), port))
	}
	fmt.Fprintln(out, "Stop it with Ctrl-C.")
	if err := serve(ctx, web.NewServer(web.New(o)), listener); err != nil {
		return oursError{err}
	}
	fmt.Fprintln(out, "The bench is closed. Everything that was saved is in the book.")
	return nil
}

// addressFits refuses an address that would let others in without a key.
func addressFits(address string, network bool) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return fmt.Errorf("--address %q: accepted: host:port, as 127.0.0.1:8745", address)
	}
	ip := net.ParseIP(host)
	local := host == "localhost" || ip != nil && ip.IsLoopback()
	if !local && !network {
		return fmt.Errorf("--address %s can be reached from other machines: add --network, which asks everybody for a key, or listen on 127.0.0.1", address)
	}
	return nil
}

// serve runs the server until ctx ends, then lets what is under way come to an end.
func serve(ctx context.Context, server *http.Server, listener net.Listener) error {
	// Streams of events end with the bench, not with its grace.
	running, end := context.WithCancel(context.Background())
	defer end()
	server.BaseContext = func(net.Listener) context.Context { return running }
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	server.RegisterOnShutdown(end)
	grace, cancel := context.WithTimeout(context.Background(), benchGrace)
	defer cancel()
	if err := server.Shutdown(grace); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return server.Close()
}

// localName is how a browser on this machine asks for a loopback address.
func localName(host string) string {
	if host == "" {
		return "localhost"
	}
	return host
}

// machineNames lists the addresses and names of this machine on its networks.
func machineNames() []string {
	var out []string
	addresses, _ := net.InterfaceAddrs() // none are known when it fails: then the bound address alone is served
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && !n.IP.IsLinkLocalUnicast() {
			out = append(out, n.IP.String())
		}
	}
	if name, err := os.Hostname(); err == nil && name != "" {
		out = append(out, name, strings.TrimSuffix(name, ".local")+".local")
	}
	return out
}

// showDoor prints the addresses, the key, and a code to scan for the first of them.
func showDoor(out io.Writer, o web.Options, asked, port string) {
	hosts := []string{asked}
	if ip := net.ParseIP(asked); asked == "" || ip != nil && ip.IsUnspecified() {
		hosts = nil
		for _, h := range o.Hosts {
			if ip := net.ParseIP(h); ip != nil && ip.To4() != nil {
				hosts = append(hosts, h)
			}
		}
	}
	if len(hosts) == 0 {
		hosts = []string{"localhost"}
	}
	fmt.Fprintln(out)
	for _, h := range hosts {
		fmt.Fprintf(out, "  http://%s/\n", net.JoinHostPort(h, port))
	}
	fmt.Fprintf(out, "\nKey: %s\n\n", spaced(o.Key))
	way := fmt.Sprintf("http://%s/enter?key=%s", net.JoinHostPort(hosts[0], port), o.Key)
	if code, err := terminalCode(way, terminal(out)); err == nil { // the address and the key stand above anyway
		fmt.Fprintf(out, "%s\nScan it, or open\n  %s\n\n", code, way)
	}
	fmt.Fprintln(out, "Whoever has the key can change everything in the book. What is sent is not encrypted.")
}

// spaced writes a key in groups of four.
func spaced(key string) string {
	var b strings.Builder
	for i, c := range key {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(c)
	}
	return b.String()
}

// codeMargin is the quiet zone of a QR code, in modules (ISO/IEC 18004 asks for 4).
const codeMargin = 4

// terminalCode draws text as a QR code in half blocks, two modules a letter: light modules are blocks, dark ones the ground. On
// a terminal the ground is made black whatever it was.
func terminalCode(text string, black bool) (string, error) {
	code, err := qr.EncodeText(text, qr.Low)
	if err != nil {
		return "", err
	}
	n := code.Size()
	light := func(x, y int) bool { return x < 0 || y < 0 || x >= n || y >= n || !code.Module(x, y) }
	var b strings.Builder
	begin, end := "", "\n"
	if black {
		begin, end = "\x1b[97;40m", "\x1b[0m\n"
	}
	for y := -codeMargin; y < n+codeMargin; y += 2 {
		b.WriteString(begin)
		for x := -codeMargin; x < n+codeMargin; x++ {
			switch top, bottom := light(x, y), y+1 < n+codeMargin && light(x, y+1); {
			case top && bottom:
				b.WriteRune('█')
			case top:
				b.WriteRune('▀')
			case bottom:
				b.WriteRune('▄')
			default:
				b.WriteByte(' ')
			}
		}
		b.WriteString(end)
	}
	return b.String(), nil
}
