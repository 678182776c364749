#include "visit/entry.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "base/text.hpp"

namespace gw::visit {

namespace {

constexpr std::string_view first_line = "gaswright.entry/1";
constexpr std::size_t largest_body = std::size_t{4} << 20U;  // a settled file belongs in evidence
constexpr std::size_t longest_word = 400;                    // of subject, kind and who

bool is_one_line(std::string_view text) {
    return std::none_of(text.begin(), text.end(), [](char c) {
        auto const byte = static_cast<unsigned char>(c);
        return byte < 0x20 || byte == 0x7F;
    });
}

Result<> require_word(std::string_view what, std::string_view text) {
    if (trimmed(text).empty() || trimmed(text).size() != text.size() || text.size() > longest_word)
        return fail(
            Errc::bad_input,
            fmt::format(
                "The {} of an entry is a word or a name, not \"{}\".", what, text.substr(0, 40)),
            std::string(what),
            "give it in one line, without blanks around it");
    if (!is_one_line(text))
        return fail(Errc::bad_input,
                    fmt::format("The {} holds a line break or another control character.", what),
                    std::string(what),
                    "write it in one line");
    return canonical(Json(std::string(text)))
               ? Result<>()
               : Result<>(pass_on(Error{Errc::bad_input,
                                        fmt::format("The {} is no UTF-8 text.", what),
                                        std::string(what),
                                        {}}));
}

// Sorted at every level: the plain object of this library keeps its keys in order.
nlohmann::json sorted(Json const& json) { return nlohmann::json(json); }

}  // namespace

bool is_sha256(std::string_view text) {
    return text.size() == 64 && std::all_of(text.begin(), text.end(), [](char c) {
               return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
           });
}

Result<std::string> canonical(Json const& json) {
    try {
        return sorted(json).dump();
    } catch (Json::exception const&) {
        return fail(Errc::bad_input, "The text is no UTF-8.", "body", "write it in UTF-8");
    }
}

std::string sealed_text(Entry const& entry) {
    return fmt::format(
        "{}\nsequence: {}\nrecorded: {}\nsubject: {}\nkind: {}\nwho: {}\nevidence: {}\nbody: {}\n"
        "previous: {}\n",
        first_line,
        entry.sequence,
        entry.recorded,
        entry.subject,
        entry.kind,
        entry.who,
        joined(entry.evidence, " "),
        entry.body,
        entry.previous);
}

Result<Entry> read_sealed_text(std::string_view text, std::string const& source) {
    constexpr std::array<std::string_view, 8> names = {
        "sequence", "recorded", "subject", "kind", "who", "evidence", "body", "previous"};
    auto lines = split(text, '\n');
    auto const wrong = [&](std::size_t line, std::string what) {
        return fail(Errc::bad_input,
                    std::move(what),
                    fmt::format("{}:{}", source, line),
                    "an entry is nine lines as docs/record.md says");
    };
    if (lines.size() != names.size() + 2 || !lines.back().empty() || lines[0] != first_line)
        return wrong(1, "This is no entry of a journal.");
    std::array<std::string, names.size()> value;
    for (std::size_t i = 0; i < names.size(); ++i) {
        auto const title = fmt::format("{}: ", names[i]);
        if (!lines[i + 1].starts_with(title))
            return wrong(i + 2, fmt::format("The line must begin with \"{}\".", title));
        value[i] = std::string(lines[i + 1].substr(title.size()));
    }
    auto const sequence = parse_number(value[0]);
    if (!sequence || *sequence < 1 || *sequence > 9e15)
        return wrong(2, "The sequence is a whole number from 1.");
    auto const recorded = parse_instant(value[1], source + ":3");
    if (!recorded) return pass_on(recorded.error());
    auto const body = parse_json(value[6], source + ":8");
    if (!body) return pass_on(body.error());
    NewEntry entry{*recorded, value[2], value[3], value[4], body->root().raw(), {}};
    if (!value[5].empty())
        for (auto const hash : split(value[5], ' ')) entry.evidence.emplace_back(hash);
    GW_TRY(auto out, seal(entry, Head{static_cast<std::int64_t>(*sequence) - 1, value[7]}));
    if (sealed_text(out) != text) return wrong(1, "This is not the one form that an entry has.");
    return out;
}

Result<Entry> seal(NewEntry const& entry, Head const& head) {
    GW_CHECK(require_word("subject", entry.subject));
    GW_CHECK(require_word("kind", entry.kind));
    GW_CHECK(require_word("who", entry.who));
    if (!entry.body.is_object())
        return fail(Errc::bad_input, "The body of an entry is an object.", "body");
    for (auto const& hash : entry.evidence)
        if (!is_sha256(hash))
            return fail(Errc::bad_input, "Evidence is named by its SHA-256.", "evidence");
    Entry out;
    out.sequence = head.entries + 1;
    out.recorded = to_text(entry.recorded);
    out.subject = entry.subject;
    out.kind = entry.kind;
    out.who = entry.who;
    GW_TRY(out.body, canonical(entry.body));
    if (out.body.size() > largest_body)
        return fail(Errc::out_of_range,
                    "The entry is larger than 4 MiB.",
                    "body",
                    "give long content as a file");
    out.evidence = entry.evidence;
    out.previous = head.entries == 0 && head.hash.empty() ? std::string(no_previous) : head.hash;
    if (!is_sha256(out.previous))
        return fail(Errc::bad_input, "The hash of the entry before is no SHA-256.", "previous");
    out.hash = sha256(sealed_text(out));
    return out;
}

std::string fault_of(Entry const& entry, Head const& head) {
    if (entry.sequence != head.entries + 1)
        return fmt::format(
            "entry {} is missing: the next one is {}", head.entries + 1, entry.sequence);
    std::string const before = head.entries == 0 ? std::string(no_previous) : head.hash;
    // The content first: a changed word is named as such, not as a broken link of the next entry.
    if (sha256(sealed_text(entry)) != entry.hash)
        return "its content does not give its hash: one of its columns was changed";
    if (entry.previous != before) return "it does not follow the entry before it";
    if (auto const again = read_sealed_text(sealed_text(entry), "entry"); !again)
        return again.error().what;
    return {};
}

std::optional<Origin> origin_of(Entry const& entry) {
    if (entry.body.find("\"origin\"") == std::string::npos) return std::nullopt;  // most have none
    auto const body = body_of(entry);
    if (!body) return std::nullopt;
    auto const field = body->root().find("origin");
    if (!field || !field->is_object()) return std::nullopt;
    auto const sequence = field->number("sequence");
    auto const hash = field->text("hash"), previous = field->text("previous");
    if (!sequence || !hash || !previous || *sequence < 1 || *sequence > 9e15) return std::nullopt;
    if (!is_sha256(*hash) || !is_sha256(*previous)) return std::nullopt;
    return Origin{static_cast<std::int64_t>(*sequence), *hash, *previous};
}

Result<NewEntry> brought_over(Entry const& entry) {
    GW_TRY(auto const recorded, parse_instant(entry.recorded, "recorded"));
    GW_TRY(auto const body, body_of(entry));
    auto fields = body.root().raw();
    if (!origin_of(entry))
        fields["origin"] =
            Json{{"sequence", entry.sequence}, {"hash", entry.hash}, {"previous", entry.previous}};
    return NewEntry{
        recorded, entry.subject, entry.kind, entry.who, std::move(fields), entry.evidence};
}

std::optional<Entry> original_of(Entry const& entry) {
    auto const origin = origin_of(entry);
    auto const body = body_of(entry);
    if (!origin || !body) return std::nullopt;
    auto fields = body->root().raw();
    fields.erase("origin");
    auto text = canonical(fields);
    if (!text) return std::nullopt;
    auto out = entry;
    out.body = *std::move(text);
    out.sequence = origin->sequence;
    out.previous = origin->previous;
    out.hash = sha256(sealed_text(out));
    return out.hash == origin->hash ? std::optional(std::move(out)) : std::nullopt;
}

Result<Document> body_of(Entry const& entry) {
    return parse_json(entry.body, fmt::format("entry {}", entry.sequence));
}

}  // namespace gw::visit
