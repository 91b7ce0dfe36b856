// Writes grid.csv, the table that TestGrid compares this package with: colours
// of sRGB and Display P3, inside and outside the encoding's range, as two
// general-purpose libraries convert them.
//
// The committed table was made with colorjs.io 0.7.1 (XYZ, Lab) and culori
// 4.0.2 (LCh, Delta E 2000; its XYZ and Lab must agree with colorjs.io's or the
// script stops) and the names of color-name-lists 3.33.2. To make it again, in an
// empty folder outside the repository:
//
//	npm install colorjs.io@0.7.1 culori@4.0.2 color-name-lists@3.33.2
//	cp …/colorimg/cie/testdata/grid.mjs . && node grid.mjs > …/colorimg/cie/testdata/grid.csv
//
// Columns: space; r, g, b as encoded (not linear); x, y, z under D65, Y = 1 for
// white; L, a, b under D65; C and h of that Lab (h in degrees, empty without
// chroma); L50, a50, b50, the Lab under D50 after Bradford adaptation; dE, the
// CIEDE2000 difference from the row before (empty in the first); iscc, the number
// of the nearest ISCC-NBS centroid by culori's CIEDE2000.
//
// Both libraries take D65 from its chromaticity 0.3127, 0.3290 and D50 from
// 0.3457, 0.3585.

import { readFileSync } from 'node:fs';
import Color from 'colorjs.io';
import { converter, differenceCiede2000, nearest } from 'culori';

const version = (p) => JSON.parse(readFileSync(`node_modules/${p}/package.json`)).version;
const fail = (...why) => { console.error(...why); process.exit(1); };

const toXYZ = converter('xyz65'), toLab = converter('lab65'), toLCh = converter('lch65');
const deltaE = differenceCiede2000();

const { nbsIscc } = JSON.parse(readFileSync('node_modules/color-name-lists/dist/colorlists.json')).lists;
const closest = nearest(nbsIscc.map((n) => n.hex), deltaE);

const rows = [];
const cube = (space, levels) => {
	for (const r of levels) for (const g of levels) for (const b of levels) rows.push([space, r, g, b]);
};
for (let i = 0; i <= 16; i++) rows.push(['srgb', i / 16, i / 16, i / 16]);
cube('srgb', [-0.1, 0.02, 0.35, 0.7, 1.05]);
cube('p3', [0, 0.04, 0.3, 0.65, 1]);

const near = (what, p, q, tolerance) => {
	p.forEach((v, i) => {
		if (!(Math.abs(v - q[i]) <= tolerance)) fail(`${what}: colorjs.io ${p}, culori ${q}`);
	});
};
const show = (v, digits) => {
	const s = v.toFixed(digits);
	return Number(s) === 0 ? '0' : String(Number(s)); // no -0, no trailing zeros
};

console.log(`# colorjs.io ${version('colorjs.io')}, culori ${version('culori')}, color-name-lists ${version('color-name-lists')}; see grid.mjs`);
console.log('space,r,g,b,x,y,z,L,a,b,C,h,L50,a50,b50,dE,iscc');
let before;
for (const [space, r, g, b] of rows) {
	const c = new Color(space, [r, g, b]);
	const k = { mode: space === 'p3' ? 'p3' : 'rgb', r, g, b };
	const xyz = c.to('xyz-d65').coords, lab = c.to('lab-d65').coords, lab50 = c.to('lab').coords;
	const kx = toXYZ(k), kl = toLab(k), lch = toLCh(k);
	near(`XYZ of ${space} ${r} ${g} ${b}`, xyz, [kx.x, kx.y, kx.z], 1e-7);
	near(`Lab of ${space} ${r} ${g} ${b}`, lab, [kl.l, kl.a, kl.b], 2e-5);
	const hue = lch.c > 1e-3 ? show(lch.h, 4) : '';
	console.log([
		space, r, g, b,
		...xyz.map((v) => show(v, 7)),
		...lab.map((v) => show(v, 5)),
		show(lch.c, 5), hue,
		...lab50.map((v) => show(v, 5)),
		before ? show(deltaE(before, k), 5) : '',
		nbsIscc.findIndex((n) => n.hex === closest(k, 1)[0]) + 1,
	].join(','));
	before = k;
}
