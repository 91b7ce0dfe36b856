// Writes iscc_nbs.txt, the table of colour names that name.go embeds.
//
// The committed table was made with color-name-lists 3.33.2. To make it again,
// in an empty folder outside the repository:
//
//	npm install color-name-lists@3.33.2
//	cp …/colorimg/cie/testdata/names.mjs . && node names.mjs > …/colorimg/cie/iscc_nbs.txt
//
// The list `nbsIscc` is in the order of the ISCC-NBS numbers 1 to 267. Two
// things in it are not part of the names and are left out: everyday synonyms
// after a comma ("Deep Blue, royal blue") and a cross-reference ("see #115").

import { readFileSync } from 'node:fs';

const dir = 'node_modules/color-name-lists';
const { version } = JSON.parse(readFileSync(`${dir}/package.json`));
const { lists, meta } = JSON.parse(readFileSync(`${dir}/dist/colorlists.json`));
const list = lists.nbsIscc;
const { title, license, source } = meta.nbsIscc;

console.log(`# The 267 colour names of the ISCC-NBS method of designating colours, each with
# the number of its block, the sRGB colour of its centroid, and its name.
#
# The method: K. L. Kelly and D. B. Judd, The ISCC-NBS Method of Designating
# Colors and a Dictionary of Color Names, NBS Circular 553 (1955), and Color:
# Universal Language and Dictionary of Names, NBS Special Publication 440
# (1976); works of the United States government.
#
# Taken from the npm package color-name-lists ${version} (MIT), list "nbsIscc",
# "${title}", ${license}, whose source is
# ${source}
# It gives the centroids as sRGB hex: those outside sRGB, mostly the vivid
# greens and blues, are there only as near as sRGB reaches.
#
# Written by testdata/names.mjs; do not edit.`);
list.forEach(({ name, hex }, i) => {
	const plain = name.replace(/,.*/, '').replace(/ see #\d+$/, '').toLowerCase();
	console.log(`${i + 1}\t${hex}\t${plain}`);
});
