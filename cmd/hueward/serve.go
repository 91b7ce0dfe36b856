package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/report/page"
	"hueward/report/words"
)

type serveOptions struct {
	lan     bool
	address string
	port    int
	open    bool // the page in the machine's browser, too
}

// usualPort is where the page is served unless another is asked for: unassigned by
// IANA, and above those that need a privilege.
const usualPort = 8459

func (a *app) serveCommand() *cobra.Command {
	o := &serveOptions{}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve the book as a page, for a browser here or a phone in the garden",
		Long: `Serve the book as a web page: today's work, photos, plants, pairs, drift, labels. It
answers only this machine. With --lan it also answers other devices on the same
network, once you let them in: point a phone's camera at the code in the terminal. A
code lets one device in; then the next is shown. Devices stay let in, even after a
restart, until they are sent away on the page; pairings.json in the book's folder
keeps them: do not share it. --lan answers at every address of this machine;
--address names one, such as that of your home network.

The connection is not encrypted: use --lan in a network whose people you know.
Several devices and commands may work on one book at a time. Ctrl-C stops; what has
begun is finished first.` + cli.ExitStatuses(""),
		Example: `  hueward serve
  hueward serve --lan --port 8080`,
		RunE: a.Do(func(cmd *cobra.Command, _ []string) error { return a.serve(cmd.Context(), o) }),
	}
	cmd.Flags().BoolVar(&o.lan, "lan", false, "answer other devices on the network, once you let them in")
	cmd.Flags().StringVar(&o.address, "address", "", "with --lan: answer only at this one of this machine's addresses (and on this machine)")
	cmd.Flags().IntVar(&o.port, "port", usualPort, "the `PORT`; 0: any that is free")
	return cmd
}

// serveDemo serves the demo's book, at the usual port where that is free.
func (a *app) serveDemo(ctx context.Context, dir string) error {
	a.BookDir = dir
	o := &serveOptions{port: usualPort}
	ln, err := new(net.ListenConfig).Listen(ctx, "tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(usualPort)))
	if err != nil {
		o.port = 0
	} else {
		ln.Close()
	}
	return a.serve(ctx, o)
}

func (a *app) serve(ctx context.Context, o *serveOptions) error {
	if o.port < 0 || o.port > 65535 {
		return cli.Usagef("--port %d: want 0 to 65535", o.port)
	}
	if o.address != "" && !o.lan {
		return cli.Usagef("--address %s: it says where --lan answers; give both", o.address)
	}
	b, err := a.OpenBook(ctx)
	if err != nil {
		return err
	}
	defer b.Close()
	at := []string{"127.0.0.1"}
	opt := &page.Options{Now: a.Now, Version: a.Version, Who: a.Who(), LAN: o.lan}
	if o.lan {
		if opt.Hosts, err = lanHosts(); err != nil {
			return err
		}
		switch {
		case len(opt.Hosts) == 0:
			return errors.New("this machine is in no network; join one, or serve without --lan")
		case o.address == "":
			at = []string{""} // all of them
		case !slices.Contains(addressesOf(opt.Hosts), o.address):
			return cli.Usagef("--address %s: this machine has %s", o.address, strings.Join(addressesOf(opt.Hosts), ", "))
		default:
			at, opt.Hosts = append(at, o.address), []string{o.address}
		}
	}
	ln, err := listen(ctx, at, o.port)
	if errors.Is(err, syscall.EADDRINUSE) {
		return fmt.Errorf("port %d is in use, perhaps by another hueward serve; give another: --port %d", o.port, o.port+1)
	}
	if err != nil {
		return fmt.Errorf("serve at port %d: %w; give another: --port", o.port, err)
	}
	port := ln[0].Addr().(*net.TCPAddr).Port
	fmt.Fprintf(a.Stdout, "The book %s is served at http://127.0.0.1:%d/\n", b.Dir(), port)
	if o.lan {
		links := words.Each(addressesOf(opt.Hosts), func(h string) string { return "http://" + net.JoinHostPort(h, strconv.Itoa(port)) + "/" })
		where := "every address of this machine: "
		if o.address != "" {
			where = "one address only: "
		}
		fmt.Fprintf(a.Stdout, "Devices on the network reach it at %s%s\n", where, strings.Join(links, " "))
		opt.Paired = func(code string) {
			address := net.JoinHostPort(opt.Hosts[0], strconv.Itoa(port))
			link := page.JoinURL(address, code)
			fmt.Fprintf(a.Stdout, "\nTo let a device in, point its camera at this code, or open http://%s/ and type %s-%s:\n\n", address, code[:4],
				code[4:])
			a.Stdout.QR(link)
			fmt.Fprintf(a.Stdout, "\n%s\n", link)
		}
	}
	if o.open {
		browse(ctx, fmt.Sprintf("http://127.0.0.1:%d/", port))
	}
	s := page.New(b, opt)
	fmt.Fprintln(a.Stdout, "\nCtrl-C stops.")
	return s.Serve(ctx, ln...)
}

// listen listens at all of the addresses, at one port.
func listen(ctx context.Context, at []string, port int) ([]net.Listener, error) {
	var all []net.Listener
	for _, host := range at {
		ln, err := new(net.ListenConfig).Listen(ctx, "tcp", net.JoinHostPort(host, strconv.Itoa(port)))
		if err != nil {
			for _, l := range all {
				l.Close()
			}
			return nil, err
		}
		all = append(all, ln)
		port = ln.Addr().(*net.TCPAddr).Port // where any was asked for, the same at all
	}
	return all, nil
}

// addressesOf are the addresses among names and addresses.
func addressesOf(hosts []string) []string {
	return slices.DeleteFunc(slices.Clone(hosts), func(h string) bool {
		_, err := netip.ParseAddr(h)
		return err != nil
	})
}

// lanHosts are this machine's addresses in its networks, those of private networks first, and its name.
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
