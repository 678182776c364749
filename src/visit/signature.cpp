#include "visit/signature.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "visit/register.hpp"

namespace gw::visit {

namespace {

constexpr std::array statements = {
    Statement::work, Statement::conformity, Statement::witness, Statement::review};
constexpr std::string_view first_line = "gaswright.signature/1";
constexpr std::size_t most_named = 5;  // of what stands between, in one sentence

// No value may look like a further line.
std::string one_line_of(std::string_view text) {
    std::string out;
    for (char const c : trimmed(text))
        out += static_cast<unsigned char>(c) < 0x20 || c == 0x7F ? ' ' : c;
    return out;
}

std::string same(std::string const& name) { return lowered(trimmed(name)); }

// The lines of the text, taken one after another by their names.
class Lines {
  public:
    Lines(std::string_view text, std::string source) : source_(std::move(source)) {
        while (!text.empty()) {
            auto const end = text.find('\n');
            if (end == std::string_view::npos) {
                whole_ = false;
                break;
            }
            lines_.push_back(text.substr(0, end));
            text.remove_prefix(end + 1);
        }
    }
    [[nodiscard]] bool whole() const { return whole_; }
    [[nodiscard]] bool at_end() const { return next_ == lines_.size(); }
    [[nodiscard]] std::optional<std::string> value(std::string_view key) {
        if (at_end() || !lines_[next_].starts_with(key) ||
            lines_[next_].substr(key.size(), 2) != ": ")
            return std::nullopt;
        return std::string(lines_[next_++].substr(key.size() + 2));
    }
    [[nodiscard]] std::optional<std::string> plain() {
        return at_end() ? std::nullopt : std::optional(std::string(lines_[next_++]));
    }

  private:
    std::vector<std::string_view> lines_;
    std::size_t next_ = 0;
    bool whole_ = true;
    std::string source_;
};

std::optional<std::int64_t> count_of(std::string const& text) {
    auto const number = parse_number(text);
    if (!number || *number < 0 || *number > 9e15) return std::nullopt;
    auto const whole = static_cast<std::int64_t>(*number);
    return std::to_string(whole) == text ? std::optional(whole) : std::nullopt;
}

}  // namespace

std::string_view name(Statement statement) {
    switch (statement) {
        case Statement::work:
            return "work";
        case Statement::conformity:
            return "conformity";
        case Statement::witness:
            return "witness";
        case Statement::review:
            return "review";
    }
    return "work";
}

std::string_view title(Statement statement) {
    switch (statement) {
        case Statement::work:
            return "Work complete and left safe";
        case Statement::conformity:
            return "Conformity shown";
        case Statement::witness:
            return "Witnessed";
        case Statement::review:
            return "Reviewed";
    }
    return "";
}

std::string_view words(Statement statement) {
    switch (statement) {
        case Statement::work:
            return "The work is complete as this record tells, and the analyser was left safe as "
                   "recorded; what is open, failed or was passed over is listed below.";
        case Statement::conformity:
            return "Every required finding as left meets its limit on the evidence of this record; "
                   "nothing is claimed for any time before that evidence.";
        case Statement::witness:
            return "I was present and saw what this record tells, except as reserved below.";
        case Statement::review:
            return "I have gone through this record and its evidence, except as reserved below.";
    }
    return "";
}

std::optional<Statement> find_statement(std::string_view asked) {
    for (auto const statement : statements)
        if (lowered(trimmed(asked)) == name(statement)) return statement;
    return std::nullopt;
}

std::string signed_text(Signed const& what) {
    std::string out(first_line);
    out += '\n';
    auto const line = [&](std::string_view key, std::string_view value) {
        out += fmt::format("{}: {}\n", key, one_line_of(value));
    };
    line("statement", name(what.statement));
    line("words", words(what.statement));
    line("visit", what.visit);
    line("analyser", what.analyser);
    line("plan", what.plan_sha256);
    line("signer", what.signer);
    line("key", what.key);
    line("at", what.at);
    line("clock", what.clock);
    line("journal", fmt::format("{}:{}", what.head.entries, what.head.hash));
    line("last_entry", std::to_string(what.last_entry));
    line("findings", what.findings_sha256);
    line("listed", std::to_string(what.listed.size()));
    for (auto const& item : what.listed) line("-", item);
    line("reservations", std::to_string(what.reservations.size()));
    for (auto const& item : what.reservations) line("-", item);
    return out;
}

Result<Signed> read_signed_text(std::string_view text, std::string const& source) {
    auto const wrong = [&](std::string const& what) {
        return fail(Errc::bad_input, what, source, "take the text as it was signed");
    };
    Lines lines(text, source);
    if (!lines.whole() || lines.plain() != std::string(first_line))
        return wrong("This is no signed statement.");
    Signed out;
    bool good = true;
    auto const take = [&](std::string_view key) {
        auto value = lines.value(key);
        good = good && value.has_value();
        return value.value_or("");
    };
    auto const statement = find_statement(take("statement"));
    auto const said = take("words");
    out.visit = take("visit");
    out.analyser = take("analyser");
    out.plan_sha256 = take("plan");
    out.signer = take("signer");
    out.key = take("key");
    out.at = take("at");
    out.clock = take("clock");
    auto const journal = take("journal");
    auto const last = count_of(take("last_entry"));
    out.findings_sha256 = take("findings");
    auto const list = [&](std::string_view key, std::vector<std::string>& into) {
        auto const count = count_of(take(key));
        good = good && count.has_value();
        for (std::int64_t i = 0; good && i < *count; ++i) into.push_back(take("-"));
    };
    list("listed", out.listed);
    list("reservations", out.reservations);
    auto const colon = journal.find(':');
    auto const entries =
        colon == std::string::npos ? std::nullopt : count_of(journal.substr(0, colon));
    if (!good || !statement || !last || !entries || !lines.at_end())
        return wrong("The signed statement is damaged.");
    out.statement = *statement;
    out.last_entry = *last;
    out.head = {*entries, journal.substr(colon + 1)};
    if (said != words(*statement) || !is_sha256(out.head.hash) || signed_text(out) != text)
        return wrong("The signed statement is damaged.");
    return out;
}

Result<std::string> findings_text(std::string const& visit,
                                  std::vector<metrology::Finding> const& findings,
                                  Ledger const& ledger) {
    Json lines = Json::array();
    for (auto const& line : ledger.lines)
        lines.push_back(Json{{"what", line.what},
                             {"why", line.why},
                             {"work", line.work},
                             {"conformity", line.conformity}});
    Json list = Json::array();
    for (auto const& finding : findings) list.push_back(metrology::finding_json(finding));
    GW_TRY(auto text,
           canonical(Json{{"schema", "gaswright.findings/1"},
                          {"visit", visit},
                          {"findings", std::move(list)},
                          {"ledger", std::move(lines)}}));
    return text + "\n";
}

std::vector<std::string> listed_of(Ledger const& ledger) {
    std::vector<std::string> out;
    for (auto const& line : ledger.lines) out.push_back(one_line_of(line.what + ": " + line.why));
    return out;
}

std::string clock_words(VisitState const& visit) {
    for (auto const& stage : visit.stages)
        for (auto const& step : stage.steps) {
            auto const* stands = step.current();
            if (step.step->name != "clock of the laptop" || stands == nullptr ||
                stands->kind != Wants::clock || !stands->number)
                continue;
            return fmt::format(
                "of the signing device; in this visit it was held against a trusted time on {}: {} "
                "s off",
                stands->at,
                shortest(*stands->number));
        }
    return "of the signing device alone; no trusted time was at hand";
}

std::vector<Signature> signatures_of(std::vector<Entry> const& entries) {
    std::vector<Signature> out;
    auto const out_of_force = withdrawn(entries);
    for (auto const& entry : entries) {
        if (entry.kind != "signature") continue;
        Signature item;
        item.entry = entry.sequence;
        item.recorded = entry.recorded;
        item.who = entry.who;
        item.origin = origin_of(entry);
        item.withdrawn = out_of_force.contains(entry.sequence);
        if (!entry.evidence.empty()) item.findings_sha256 = entry.evidence.front();
        if (auto const body = body_of(entry)) {
            item.text = body->root().text_or("text", "").value_or("");
            item.public_key = body->root().text_or("public_key", "").value_or("");
            item.signature = body->root().text_or("signature", "").value_or("");
        }
        out.push_back(std::move(item));
    }
    for (auto& item : out) {
        auto said = read_signed_text(item.text, fmt::format("entry {}", item.entry));
        if (!said) {
            item.problem = said.error().what;
            continue;
        }
        item.said = *std::move(said);
        // The signer's own numbering: what came here from the same record keeps its number there.
        auto const after = [&](Entry const& entry) {
            if (!item.origin) return entry.sequence > item.said.last_entry;
            auto const origin = origin_of(entry);
            return !origin || origin->sequence > item.said.last_entry;
        };
        for (auto const& entry : entries)
            if (after(entry) && entry.kind != "signature" && entry.kind != "imported")
                item.later.push_back(fmt::format(
                    "entry {}: {}, {}, {}", entry.sequence, entry.kind, entry.who, entry.recorded));
    }
    return out;
}

NewEntry signature_entry(Signed const& what,
                         std::string const& public_key,
                         std::string const& signature,
                         Instant recorded) {
    return {recorded,
            what.visit,
            "signature",
            what.signer,
            Json{{"statement", std::string(name(what.statement))},
                 {"text", signed_text(what)},
                 {"public_key", public_key},
                 {"signature", signature}},
            {what.findings_sha256}};
}

Result<> may_be_signed(Statement statement,
                       std::string const& signer,
                       std::string const& key,
                       Ledger const& ledger,
                       std::vector<Signature> const& before) {
    bool const work = statement == Statement::work, conformity = statement == Statement::conformity;
    if ((work && !ledger.may_sign_work) || (conformity && !ledger.may_sign_conformity)) {
        std::vector<std::string> between;
        std::size_t count = 0;
        for (auto const& line : ledger.lines)
            if ((work && line.work) || (conformity && line.conformity))
                if (++count <= most_named)
                    between.push_back(one_line_of(line.what + " (" + line.why + ")"));
        return fail(
            Errc::conflict,
            fmt::format("\"{}\" cannot be signed yet: {}{}.",
                        title(statement),
                        joined(between, "; "),
                        count > most_named ? fmt::format("; and {} more", count - most_named)
                                           : std::string()),
            "--as",
            "see what is open with gaswright visit show");
    }
    for (auto const& earlier : before) {
        if (earlier.withdrawn || !earlier.valid) continue;
        bool const same_person =
            earlier.said.key == key || same(earlier.said.signer) == same(signer);
        bool const own_work = earlier.said.statement == Statement::work ||
                              earlier.said.statement == Statement::conformity;
        if (!same_person) continue;
        if (own_work && !work && !conformity)
            return fail(Errc::conflict,
                        fmt::format("{} signed \"{}\" in entry {}: a witness or reviewer is "
                                    "somebody else.",
                                    earlier.said.signer,
                                    title(earlier.said.statement),
                                    earlier.entry),
                        "--as",
                        "let another person sign it with a key of their own");
        if (!own_work && (work || conformity))
            return fail(Errc::conflict,
                        fmt::format("{} signed as {} in entry {}: the work is signed by somebody "
                                    "else.",
                                    earlier.said.signer,
                                    name(earlier.said.statement),
                                    earlier.entry),
                        "--as",
                        "let who did it sign it with a key of their own");
        if (earlier.said.statement == statement && !earlier.of_earlier_state())
            return fail(Errc::conflict,
                        fmt::format("{} has signed this already (entry {}), and nothing was "
                                    "recorded since.",
                                    earlier.said.signer,
                                    earlier.entry),
                        "--as",
                        "look with gaswright visit show");
    }
    return {};
}

Json signature_json(Signature const& signature) {
    auto const& said = signature.said;
    return Json{{"entry", signature.entry},
                {"statement", std::string(name(said.statement))},
                {"title", std::string(title(said.statement))},
                {"words", std::string(words(said.statement))},
                {"signer", said.signer},
                {"key", said.key},
                {"at", said.at},
                {"clock", said.clock},
                {"head", Json{{"entries", said.head.entries}, {"hash", said.head.hash}}},
                {"findings", said.findings_sha256},
                {"listed", said.listed},
                {"reservations", said.reservations},
                {"valid", signature.valid},
                {"problem", signature.problem.empty() ? Json(nullptr) : Json(signature.problem)},
                {"withdrawn", signature.withdrawn},
                {"of_earlier_state", signature.of_earlier_state()},
                {"later", signature.later}};
}

std::string signature_text(Signature const& signature) {
    auto const& said = signature.said;
    if (!signature.valid)
        return fmt::format(
            "  entry {}: NOT VALID: {}\n", signature.entry, one_line_of(signature.problem));
    auto out = fmt::format("  {}: {}, {} (entry {}, key {})\n",
                           title(said.statement),
                           said.signer,
                           said.at,
                           signature.entry,
                           said.key.substr(0, 16));
    if (signature.withdrawn) out += "      withdrawn since\n";
    for (auto const& reservation : said.reservations)
        out += fmt::format("      with the reservation: {}\n", reservation);
    if (signature.of_earlier_state()) {
        out += "      of an earlier state; recorded since:\n";
        for (auto const& later : signature.later) out += fmt::format("        {}\n", later);
    }
    return out;
}

}  // namespace gw::visit
