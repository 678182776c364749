#include "visit/register.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <nlohmann/json.hpp>

#include "visit/thing.hpp"

namespace gw::visit {

namespace {

std::string text_of(Json const& body, char const* key) {
    auto const found = body.find(key);
    return found != body.end() && found->is_string() ? found->get<std::string>() : std::string();
}

}  // namespace

About about(Entry const& entry) {
    if (entry.subject == "store") return About::other;
    return entry.subject.find(':') == std::string::npos ? About::visit : About::thing;
}

void note(VisitLine& line, Entry const& entry) {
    ++line.entries;
    line.last = entry.sequence;
    line.changed = entry.recorded;
    line.visit = entry.subject;
    auto const document = body_of(entry);
    if (!document) return;
    auto const& body = document->root().raw();
    if (entry.kind == "visit") {
        line.analyser = text_of(body, "analyser");
        line.plan = text_of(body, "plan");
        line.title = text_of(body, "title");
        line.opened = entry.recorded;
        line.state = "open";
    } else if (entry.kind == "interrupted") {
        line.state = "interrupted";
    } else if (entry.kind == "resumed") {
        line.state = "open";
    } else if (entry.kind == "end") {
        line.state = text_of(body, "as");
        line.until = text_of(body, "until");
        line.owner = text_of(body, "owner");
    }
}

void note(ThingLine& line, Entry const& entry) {
    ++line.entries;
    line.last = entry.sequence;
    line.changed = entry.recorded;
    line.thing = entry.subject;
    auto const colon = entry.subject.find(':');
    line.kind = entry.subject.substr(0, colon);
    line.id = entry.subject.substr(colon + 1);
    auto const document = body_of(entry);
    if (!document || entry.kind != "thing") return;
    Json known = Json::object();
    if (!line.body.empty())
        if (auto const before = parse_json(line.body, "thing")) known = before->root().raw();
    known = thing_after(known, document->root().raw());
    if (auto text = canonical(known)) line.body = *std::move(text);
    line.due = next_due(line.kind, known);
}

std::set<std::int64_t> withdrawn(std::vector<Entry> const& entries) {
    std::set<std::int64_t> out;
    // An undo that came from another store names its target by the number that it had there.
    std::map<std::int64_t, std::int64_t> here;
    for (auto const& entry : entries)
        if (auto const origin = origin_of(entry)) here[origin->sequence] = entry.sequence;
    // From the last on: whether an undo itself still stands is then known when it is met.
    for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry) {
        if (entry->kind != "undo" || out.contains(entry->sequence)) continue;
        auto const document = body_of(*entry);
        if (!document) continue;
        auto const target = document->root().optional_number("entry");
        if (!target || !*target) continue;
        auto const named = static_cast<std::int64_t>(**target);
        if (!origin_of(*entry))
            out.insert(named);
        else if (auto const found = here.find(named); found != here.end())
            out.insert(found->second);
    }
    return out;
}

namespace {

template <class Line>
Line folded(std::vector<Entry> const& entries) {
    auto const out_of_force = withdrawn(entries);
    Line line;
    for (auto const& entry : entries) {
        if (!out_of_force.contains(entry.sequence)) {
            note(line, entry);
            continue;
        }
        auto counted = entry;  // it is there and counts as an entry, but says nothing any more
        counted.kind = "withdrawn";
        note(line, counted);
    }
    return line;
}

}  // namespace

VisitLine visit_line(std::vector<Entry> const& entries) { return folded<VisitLine>(entries); }
ThingLine thing_line(std::vector<Entry> const& entries) { return folded<ThingLine>(entries); }

bool needs_whole_history(Entry const& entry) { return entry.kind == "undo"; }

}  // namespace gw::visit
