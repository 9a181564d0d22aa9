"""SVG outlines by hand, by svgwrite and by cairo: all invented samples."""
import math

PX = 25.4 / 96


def doc(body, size='width="600mm" height="400mm" viewBox="0 0 600 400"', head=""):
    return ('<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" '
            'xmlns:xlink="http://www.w3.org/1999/xlink" %s>\n%s%s\n</svg>\n' % (size, head, body))


def path(d, more=""):
    return '<path d="%s" fill="none" stroke="#000"%s/>' % (d, more)


HAND = {
    "absolute": doc(path("M 50 50 L 300 40 H 520 V 180 C 520 260 470 330 380 340 S 250 300 200 350 Q 150 390 100 330 T 40 220 "
                         "A 60 90 20 0 1 50 50 Z")),
    "relative": doc(path("m50 50l250-10h220v140c0 80-50 150-140 160s-130-40-180 10q-50 40-100-20t-60-110a60 90 20 0 1 10-170z")),
    "tight-numbers": doc(path("M50,50h.5.5l1e2-1.5E1+349-.5.5.25V3e2H50.5a25.5 25.5 0 01-.5-1zM100 100v50h50v-50z")),
    "arc-flags": doc(path("M100 200a100 100 0 01200 0A100 80 30 11300 210a50 50 0 10-100 100A60,60,0,0,1,100,250z")),
    "arc-too-small": doc(path("M 100 200 A 10 5 0 0 1 400 200 A 10 10 0 0 1 100 200 Z")),
    "arc-no-radius": doc(path("M 100 100 A 0 50 0 0 1 400 100 L 400 300 A 50 0 0 0 1 100 300 Z")),
    "repeats": doc(path("M 20 20 300 30 310 200 210 250 20 230 z m 50 50 100 0 0 60 -100 0 z")),
    "several-subpaths": doc(path("M20 20h500v300h-500zm100 100h80v60h-80zm150 0 a30 30 0 1 0 60 0 30 30 0 1 0-60 0z")),
    "smooth-without-before": doc(path("M 50 50 S 200 20 300 80 L 310 200 T 60 220 Z")),
    "quadratics": doc(path("M10 200Q100 0 250 60T400 200t-100 120T10 200z")),
    "shapes": doc('<rect x="10" y="10" width="560" height="370" rx="40" ry="25" fill="none" stroke="#000"/>'
                  '<circle cx="100" cy="100" r="33.3"/><ellipse cx="300" cy="200" rx="80" ry="45"/>'
                  '<polygon points="420,60 500,60 520 130,430,150"/><rect x="60" y="250" width="70" height="50"/>'
                  '<rect x="180" y="300" width="60" height="40" rx="10"/><rect x="480" y="250" width="40" height="90" rx="90" ry="12"/>'),
    "polyline": doc('<polyline points="30,40 500,60 540,200 400,330 60,300 30,40" fill="none" stroke="#123456"/>'
                    '<polyline points="100,100 200,100 200,150 100,150 100,100"/>'),
    "loose-lines": doc('<g stroke="black" fill="none"><line x1="20" y1="20" x2="420" y2="20"/><path d="M20 20 C -40 100 60 200 20 300"/>'
                       '<line x1="20" y1="300" x2="420" y2="300"/><path d="M420 300 A 140 140 0 0 0 420 20"/></g>'),
    "transforms": doc('<g transform="translate(300 200)"><g transform="rotate(25)"><path transform="scale(1.2 0.8)" '
                      'd="M-180-120h360v240h-360z"/></g><circle r="40" transform="skewX(20) translate(-30,10)"/>'
                      '<rect x="60" y="-20" width="50" height="40" rx="8" transform="matrix(0.9 0.2 -0.1 1.1 5 -7)"/>'
                      '<path transform="rotate(-40 80 60), scale(-1,1)" d="M-90 50a12 12 0 1 1-.01 0z"/></g>'),
    "transform-arc": doc('<path transform="matrix(1.3 0.4 -0.2 0.7 60 20)" d="M50 100a150 80 15 1 1 250 60 90 140 0 0 1-250-60z"/>'),
    "skew-mirror": doc('<g transform="scale(-1 1) translate(-600 0)"><g transform="skewY(-8)"><ellipse cx="300" cy="230" rx="220" '
                       'ry="120"/><path d="M250 200q50-40 90 10t-20 60z"/></g></g>'),
    "use-symbol": doc('<rect x="20" y="20" width="560" height="360"/><use href="#slot" x="100" y="100"/>'
                      '<use xlink:href="#slot" transform="translate(300 200) rotate(30) scale(2)"/><use href="#pair" x="380" y="60"/>',
                      head='<defs><path id="slot" d="M-20-5h40a5 5 0 0 1 0 10h-40a5 5 0 0 1 0-10z"/>'
                           '<g id="pair"><circle r="9"/><circle cx="40" cy="10" r="12"/></g></defs>\n'),
    "inch": doc(path("M1 1h20v12c-4 3-16-3-20 0z"), 'width="24in" height="16in" viewBox="0 0 24 16"'),
    "cm": doc(path("M10 10h400l50 200-300 80z"), 'width="50cm" height="30cm" viewBox="0 0 500 300"'),
    "px": doc(path("M96 96h960v480h-960z") + '<circle cx="300" cy="300" r="48"/>', 'width="1200" height="800"'),
    "px-stated": doc(path("M96 96h960v480h-960z"), 'width="1200px" height="800px" viewBox="0 0 1200 800"'),
    "pt": doc(path("M72 72h720v360q-300 200-720 0z"), 'width="900pt" height="600pt" viewBox="0 0 900 600"'),
    "viewbox-offset": doc(path("M-90-40h180v70l-60 20h-120z"), 'width="400mm" height="200mm" viewBox="-100 -50 200 100"'),
    # Room to spare across: one scale, the lesser.
    "aspect-meet": doc(path("M10 10h80v60h-80z"), 'width="400mm" height="200mm" viewBox="0 0 100 100"'),
    "aspect-slice": doc(path("M10 10h80v60a60 60 0 0 1-80 0z"),
                        'width="400mm" height="200mm" viewBox="0 0 100 100" preserveAspectRatio="xMinYMax slice"'),
    "aspect-none": doc(path("M10 10h80v60a60 60 0 0 1-80 0z"),
                       'width="400mm" height="200mm" viewBox="0 0 100 100" preserveAspectRatio="none"'),
    "colours": doc('<path class="cut" d="M10 10h500v300h-500z"/><circle style="fill:none; stroke:#FF0000" cx="100" cy="100" r="20"/>'
                   '<circle class="keep" cx="300" cy="100" r="25"/><path stroke="rgb(0,0,255)" fill="none" d="M20 20h400"/>'
                   '<circle stroke="black" cx="200" cy="200" r="30"/>',
                   head='<style>.cut{stroke:#000000;fill:none} .keep { stroke : #00ff00 ; fill:none }</style>\n'),
    "hidden": doc('<path d="M10 10h500v300h-500z"/><g display="none"><circle cx="100" cy="100" r="20"/></g>'
                  '<circle cx="200" cy="100" r="20" style="display:none"/><text x="10" y="30">sample</text>'
                  '<defs><rect width="30" height="30" id="unused"/></defs><circle cx="300" cy="100" r="21"/>'),
}


def with_svgwrite(target):
    import svgwrite
    d = svgwrite.Drawing(target, size=("500mm", "300mm"), viewBox="0 0 500 300", profile="full")
    g = d.g(id="panel", stroke="black", fill="none", transform="translate(20,10)")
    g.add(d.rect((0, 0), (440, 260), rx=30, ry=30))
    g.add(d.circle((80, 80), r=22.5))
    p = d.path(d="M 200 100")
    p.push("C", 230, 60, 290, 60, 320, 100)
    p.push_arc((-120, 0), 0, 60, large_arc=False, angle_dir="+", absolute=False)
    p.push("Z")
    g.add(p)
    d.add(g)
    slot = d.symbol(id="slot")
    slot.add(d.polygon([(0, 0), (40, 0), (46, 12), (-6, 12)]))
    d.defs.add(slot)
    d.add(d.use(slot, insert=(250, 200)))
    d.save(pretty=True)


def with_cairo(target):
    import cairo
    s = cairo.SVGSurface(target, 1200, 800)  # pt
    s.set_document_unit(cairo.SVGUnit.MM) if hasattr(s, "set_document_unit") else None
    c = cairo.Context(s)
    c.set_line_width(1)
    c.translate(100, 80)
    c.move_to(0, 0)
    c.line_to(900, 30)
    c.curve_to(1000, 200, 950, 500, 820, 560)
    c.line_to(60, 600)
    c.close_path()
    c.stroke()
    c.save()
    c.translate(400, 300)
    c.rotate(0.4)
    c.rectangle(-60, -40, 120, 80)
    c.stroke()
    c.restore()
    c.arc(700, 300, 60, 0, math.tau)
    c.close_path()
    c.stroke()
    s.finish()


# Layers or colours that are asked for by name.
NAMED = {"hand-colours.svg": ("#ff0000", "#00ff00", "#0000ff")}


def write(folder):
    out = {}
    for name, text in HAND.items():
        with open(f"{folder}/hand-{name}.svg", "w", encoding="utf-8") as f:
            f.write(text)
        out[f"hand-{name}.svg"] = (0, NAMED.get(f"hand-{name}.svg", ()), 0, 0)
    with_svgwrite(f"{folder}/svgwrite-panel.svg")
    with_cairo(f"{folder}/cairo-panel.svg")
    out["svgwrite-panel.svg"] = out["cairo-panel.svg"] = (0, (), 0, 0)
    return out
