package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"strconv"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"hueward/colorimg/tag"
	"hueward/report/page"
)

type serveOptions struct {
	lan  bool
	port int
}

// usualPort is where the page is served unless another is asked for: unassigned by
// IANA, and above those that need a privilege.
const usualPort = 8459

func (a *app) serveCommand() *cobra.Command {
	o := &serveOptions{}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve the book as a page, for a browser here or a phone in the garden",
		Long: `Serve the book as a web page: today's work, photos, plants, pairs, drift, labels.
It answers this machine alone. With --lan it answers other devices on the same
network, too, once they are paired: point a phone's camera at the code in the
terminal. A code lets one device in; then the next is shown.

The connection is not encrypted: use --lan in a network whose people you know.
Several devices and commands may work on one book at a time. Ctrl-C stops; what was
begun comes to its end.` + exitStatuses(""),
		Example: `  hueward serve
  hueward serve --lan --port 8080`,
		Args: cobra.NoArgs,
		RunE: a.do(func(cmd *cobra.Command, _ []string) error { return a.serve(cmd.Context(), o) }),
	}
	cmd.Flags().BoolVar(&o.lan, "lan", false, "answer other devices on the network, once they are paired")
	cmd.Flags().IntVar(&o.port, "port", usualPort, "the `PORT`; 0: any that is free")
	return cmd
}

func (a *app) serve(ctx context.Context, o *serveOptions) error {
	if o.port < 0 || o.port > 65535 {
		return usagef("--port %d: want 0 to 65535", o.port)
	}
	b, err := a.openBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	host := "127.0.0.1"
	opt := &page.Options{Now: a.now, Version: version, Who: a.who(), LAN: o.lan}
	if o.lan {
		host = ""
		if opt.Hosts, err = lanHosts(); err != nil {
			return err
		}
		if len(opt.Hosts) == 0 {
			return errors.New("this machine is in no network; join one, or serve without --lan")
		}
	}
	ln, err := new(net.ListenConfig).Listen(ctx, "tcp", net.JoinHostPort(host, strconv.Itoa(o.port)))
	if errors.Is(err, syscall.EADDRINUSE) {
		return fmt.Errorf("port %d is in use, perhaps by another hueward serve; give another: --port %d", o.port, o.port+1)
	}
	if err != nil {
		return fmt.Errorf("serve at port %d: %w; give another: --port", o.port, err)
	}
	port := ln.Addr().(*net.TCPAddr).Port
	fmt.Fprintf(a.stdout, "The book %s is served at http://127.0.0.1:%d/\n", b.Dir(), port)
	if o.lan {
		opt.Paired = func(code string) {
			address := net.JoinHostPort(opt.Hosts[0], strconv.Itoa(port))
			link := page.JoinURL(address, code)
			fmt.Fprintf(a.stdout, "\nTo let a device in, point its camera at this code, or open http://%s/ and type %s-%s:\n\n", address, code[:4], code[4:])
			a.stdout.qr(link)
			fmt.Fprintf(a.stdout, "\n%s\n", link)
		}
	}
	s := page.New(b, opt)
	fmt.Fprintln(a.stdout, "\nCtrl-C stops.")
	return s.Serve(ctx, ln)
}

// lanHosts are this machine's addresses in its networks, those of private networks
// first, and its name.
func lanHosts() ([]string, error) {
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return nil, fmt.Errorf("find this machine's addresses: %w", err)
	}
	var private, other []string
	for _, a := range addrs {
		n, ok := a.(*net.IPNet)
		if !ok {
			continue
		}
		ip, ok := netip.AddrFromSlice(n.IP)
		ip = ip.Unmap()
		switch {
		case !ok || ip.IsLoopback() || ip.IsLinkLocalUnicast() || !ip.IsValid():
		case ip.IsPrivate() && ip.Is4():
			private = append(private, ip.String())
		default:
			other = append(other, ip.String())
		}
	}
	hosts := append(private, other...)
	if name, err := os.Hostname(); err == nil && len(hosts) > 0 {
		name, _, _ = strings.Cut(strings.ToLower(name), ".")
		hosts = append(hosts, name, name+".local")
	}
	return hosts, nil
}

// qr draws text as a QR code of half blocks, dark on light whatever the terminal's
// colours, with the margin of four modules that readers want.
//
// Source: ISO/IEC 18004, section 5.3.8, quiet zone.
func (s *stream) qr(text string) {
	rows, err := tag.Matrix(text)
	if err != nil {
		return // the link stands below it
	}
	const margin = 4
	n := len(rows) + 2*margin
	dark := func(x, y int) bool {
		x, y = x-margin, y-margin
		return y >= 0 && y < len(rows) && x >= 0 && x < len(rows[y]) && rows[y][x]
	}
	for y := 0; y < n; y += 2 {
		var line strings.Builder
		for x := range n {
			// A light module is drawn, a dark one left as the ground: most
			// terminals are dark.
			switch up, down := dark(x, y), dark(x, y+1) || y+1 >= n; {
			case !up && !down:
				line.WriteRune('█')
			case !up:
				line.WriteRune('▀')
			case !down:
				line.WriteRune('▄')
			default:
				line.WriteRune(' ')
			}
		}
		text := line.String()
		if s.swatches {
			text = "\x1b[97;40m" + text + "\x1b[0m"
		}
		fmt.Fprintln(s, text)
	}
}
