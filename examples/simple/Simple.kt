// Writes Findslip Simple (schema/spec/simple.md) with nothing but the standard library.
//
//   kotlinc Simple.kt -include-runtime -d simple.jar && java -jar simple.jar    prints a report with two finds

import java.time.LocalDate
import java.util.UUID

/** What somebody filled into a form; null says nothing. */
class Answers(
    val id: String = "urn:uuid:" + UUID.randomUUID(),
    val number: String? = null,
    val finder: String? = null,
    val day: LocalDate? = null,
    val place: String? = null,
    val position: Triple<Double, Double, Double>? = null, // longitude, latitude, the radius in metres that holds the spot
    val depth: String? = null,
    val name: String? = null,
    val material: String? = null,
    val weight: String? = null,
    val picture: String? = null,
    val notes: String? = null,
    val notMeasured: List<String> = listOf()
)

/** A text of JSON (RFC 8259, section 7). */
fun quoted(s: String) = s.map { c ->
    when {
        c == '"' || c == '\\' -> "\\" + c
        c < ' ' -> "\\u%04x".format(c.toInt())
        else -> c.toString()
    }
}.joinToString("", "\"", "\"")

fun obj(vararg members: Pair<String, String?>) =
    members.filter { it.second != null }.joinToString(",", "{", "}") { quoted(it.first) + ":" + it.second }

fun words(text: String?) = text?.let { obj("verbatim" to quoted(it)) }

/** One find. The order of the members is that of the format. */
fun find(a: Answers, finders: List<String>): String {
    require(a.number != null || a.name != null) { "a find needs a number or a name" }
    require(Regex("urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}").matches(a.id)) { "an id is urn:uuid: and a UUID in small letters" }
    require(a.position == null || a.position.first in -180.0..180.0 && a.position.second in -90.0..90.0 && a.position.third > 0) {
        "longitude and latitude are degrees, and the radius is above zero"
    }
    require(a.picture == null || a.picture.none { it == '/' || it == '\\' }) { "a picture lies beside the report: its name has no folder" }
    val missing = listOf("depth" to a.depth, "weight" to a.weight)
        .filter { it.second == null && it.first in a.notMeasured }
        .map { "/" + it.first to quoted("not-measured") }
    return obj(
        "id" to quoted(a.id),
        "number" to a.number?.let(::quoted),
        "finder" to a.finder?.let { quoted("person-${finders.indexOf(it) + 1}") },
        "found" to a.day?.let { obj("date" to quoted(it.toString())) },
        "place" to a.place?.let { obj("name" to quoted(it)) },
        "position" to a.position?.let {
            obj("longitude" to it.first.toString(), "latitude" to it.second.toString(), "uncertainty" to it.third.toString())
        },
        "depth" to words(a.depth),
        "name" to a.name?.let(::quoted),
        "materials" to words(a.material)?.let { "[$it]" },
        "weight" to words(a.weight),
        "media" to a.picture?.let { "[" + obj("file" to quoted(it)) + "]" },
        "notes" to a.notes?.let(::quoted),
        "absent" to if (missing.isEmpty()) null else obj(*missing.toTypedArray())
    )
}

/** The report of all finds; finders stand in the order of their first find. */
fun report(finds: List<Answers>): String {
    val finders = finds.mapNotNull { it.finder }.distinct()
    require(finds.map { it.id }.distinct().size == finds.size) { "two finds have one id" }
    val people = finders.mapIndexed { i, handle -> obj("id" to quoted("person-${i + 1}"), "handle" to quoted(handle)) }
    return obj(
        "findslip" to quoted("1.0"),
        "people" to if (people.isEmpty()) null else people.joinToString(",", "[", "]"),
        "finds" to finds.joinToString(",", "[", "]") { find(it, finders) }
    )
}

fun main() {
    val day = LocalDate.parse("2026-04-12")
    println(report(listOf(
        Answers(id = "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3", number = "12a", finder = "finder-a", day = day, place = "Long Furlong",
            position = Triple(-1.2248, 52.50655, 5.0), depth = "7-9 in", name = "crotal bell", material = "green metal",
            picture = "12a.jpg", notMeasured = listOf("weight")),
        Answers(id = "urn:uuid:0d9f6a5e-3c1b-4f7a-9e52-6b8d1c4a7f30", number = "13", finder = "finder-a", day = day, place = "Long Furlong",
            depth = "more than a foot", name = "lead token", weight = "6.25 g")
    )))
}
