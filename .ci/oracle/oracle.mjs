// Asks two colour libraries for the numbers that the packages under colour compute, and writes them to testdata/colour/second-opinion.json,
// where colour and colour/difference compare themselves with both. Nothing else is tested by it, and nothing of it is shipped.
//
//   npm ci && npm run oracle
//
// The colours come from a fixed seed: running it again changes nothing unless a library does.
import { readFileSync, writeFileSync } from "node:fs";
import Color from "colorjs.io";
import { converter, differenceCie94, differenceCiede2000, differenceEuclidean } from "culori";

const SEED = 1931;
const COLOURS = 300;
const OUT = new URL("../../testdata/colour/second-opinion.json", import.meta.url);

const version = (name) => JSON.parse(readFileSync(new URL(`node_modules/${name}/package.json`, import.meta.url))).version;

// mulberry32, in whole numbers of 32 bits.
let state = SEED;
function below(n) {
  state = (state + 0x6d2b79f5) | 0;
  let t = Math.imul(state ^ (state >>> 15), 1 | state);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) % n;
}

const clamp = (v) => Math.min(255, Math.max(0, v));
const round = (v) => Number(v.toFixed(9)) + 0; // + 0 makes a plain 0 of -0
const rounded = (values) => Array.from(values, round);

// Each odd colour lies near the even one before it, so that pairs of neighbours are close and far in turn; the first few are greys.
const colours = [];
for (let i = 0; i < COLOURS; i++) {
  if (i < 8) {
    const v = [0, 1, 16, 64, 119, 128, 254, 255][i];
    colours.push([v, v, v]);
  } else if (i % 2 === 0) {
    colours.push([below(256), below(256), below(256)]);
  } else {
    colours.push(colours[i - 1].map((v) => clamp(v + below(13) - 6)));
  }
}

const lab65 = converter("lab65");
const xyz65 = converter("xyz65");
const p3 = converter("p3");
const unit = ([r, g, b]) => [r / 255, g / 255, b / 255];
const culoriOf = (rgb) => {
  const [r, g, b] = unit(rgb);
  return { mode: "rgb", r, g, b };
};

const first = colours.map((rgb) => {
  const c = new Color("srgb", unit(rgb));
  return { lab: c.to("lab-d65").coords, lab50: c.to("lab").coords, xyz: c.to("xyz-d65").coords, p3: c.to("p3").coords };
});
const second = colours.map((rgb) => {
  const c = culoriOf(rgb);
  const l = lab65(c);
  const x = xyz65(c);
  const p = p3(c);
  return { lab: [l.l, l.a ?? 0, l.b ?? 0], xyz: [x.x, x.y, x.z], p3: [p.r, p.g, p.b] };
});

// colorjs.io takes its differences against D50. Its space "lab" given the numbers of L*a*b* against D65 makes it judge those, as culori does.
const d65AsLab = (i) => new Color("lab", first[i].lab);
const e76 = differenceEuclidean("lab65");
const e94 = differenceCie94();
const e2000 = differenceCiede2000();
const pairs = colours.map((_, i) => {
  const j = (i + 1) % COLOURS;
  const p = culoriOf(colours[i]);
  const q = culoriOf(colours[j]);
  return {
    colorjs: [d65AsLab(i).deltaE(d65AsLab(j), "76"), d65AsLab(i).deltaE(d65AsLab(j), "2000")],
    culori: [e76(p, q), e94(p, q), e2000(p, q)],
  };
});

const line = (rgb, i) =>
  JSON.stringify({
    rgb,
    colorjs: {
      lab: rounded(first[i].lab),
      lab50: rounded(first[i].lab50),
      xyz: rounded(first[i].xyz),
      p3: rounded(first[i].p3),
      e76: round(pairs[i].colorjs[0]),
      e2000: round(pairs[i].colorjs[1]),
    },
    culori: {
      lab: rounded(second[i].lab),
      xyz: rounded(second[i].xyz),
      p3: rounded(second[i].p3),
      e76: round(pairs[i].culori[0]),
      e94: round(pairs[i].culori[1]),
      e2000: round(pairs[i].culori[2]),
    },
  });

const head = { seed: SEED, versions: { "colorjs.io": version("colorjs.io"), culori: version("culori") } };
writeFileSync(OUT, `${JSON.stringify(head).slice(0, -1)},"colours":[\n${colours.map(line).join(",\n")}\n]}\n`);
