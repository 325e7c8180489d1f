// Holds the number words of every language, 0 to 999, to the spelling rules of the Unicode CLDR (package cldr-rbnf): each number is
// spelt by those rules and must be read as a count of that value. Usage: PEERS=FOLDER node spellout-check.mjs path/to/findslip, where FOLDER has node_modules
import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'

const require = createRequire(process.env.PEERS + '/')
const findslip = process.argv[2]
const rulesOf = tag => JSON.parse(readFileSync(require.resolve(`cldr-rbnf/rbnf/${tag}.json`))).rbnf.rbnf.SpelloutRules

// spell is the part of rule-based number format that cardinals below a thousand need.
function spell(sets, name, n) {
  let best = null
  for (const [key, text] of sets[name]) {
    const m = /^(\d+)(?:\/(\d+))?$/.exec(key)
    if (m && Number(m[1]) <= n && (!best || Number(m[1]) >= best.base)) best = { base: Number(m[1]), radix: Number(m[2] ?? 10), text }
  }
  let divisor = 1
  while (best.base > 0 && divisor * best.radix <= best.base) divisor *= best.radix
  let text = best.text.replaceAll('←', '<').replaceAll('→', '>').replace(/;$/, '').replace(/^'/, '')
  const rest = n % divisor
  text = text.replace(/\[([^\]]*)\]/g, (_, inner) => (rest === 0 ? '' : inner))
  const sub = (open, value) => {
    const pattern = new RegExp(`${open}(%%?[a-z0-9-]+)?${open}`, 'g')
    text = text.replace(pattern, (_, set) => spell(sets, set ?? name, value))
  }
  text = text.replace(/=(%%?[a-z0-9-]+)=/g, (_, set) => spell(sets, set, n))
  if (/(<%|<<)/.test(text)) sub('<', Math.floor(n / divisor))
  if (/(>%|>>)/.test(text)) sub('>', rest)
  return text.replaceAll('\u00ad', '')
}

let failures = 0
for (const [tag, file] of Object.entries({ en: 'en', de: 'de', nl: 'nl', fr: 'fr', da: 'da', sv: 'sv', nb: 'no', pl: 'pl' })) {
  const sets = rulesOf(file)
  const name = ['%spellout-cardinal-masculine', '%spellout-cardinal-neuter', '%spellout-cardinal-reale', '%spellout-cardinal-common', '%spellout-cardinal'].find(s => sets[s])
  const words = Array.from({ length: 1000 }, (_, n) => spell(sets, name, n))
  let out
  try {
    out = execFileSync(findslip, ['read', 'count', '--json', '--language', tag], { input: words.join('\n') + '\n', encoding: 'utf8' })
  } catch (e) {
    out = e.stdout // exit 1: some were refused
  }
  const lines = out.trim().split('\n').map(l => JSON.parse(l))
  // null is also what a database writes for nothing, and is read so
  const wrong = lines.filter((r, n) => !(r.min === n && r.max === n) && !(n === 0 && r.absent))
  for (const r of wrong.slice(0, 5)) console.error(`${tag}: ${r.input}: ${JSON.stringify(r.error?.code ?? [r.min, r.max])}`)
  console.log(`${tag}: ${1000 - wrong.length} of 1000 number words read (${name})`)
  failures += wrong.length
}
process.exit(failures ? 1 : 0)
