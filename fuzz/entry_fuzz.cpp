// Sealed entries come back from bundles and other laptops. Whatever the bytes: what is accepted is
// written back alike, byte for byte, and carries the hash of just these bytes.
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>

#include "base/hash.hpp"
#include "visit/entry.hpp"
#include "visit/register.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "entry_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    std::string const text(reinterpret_cast<char const*>(bytes), size);
    auto const entry = visit::read_sealed_text(text, "fuzz");
    if (!entry) {
        require(!entry.error().what.empty(), "a refusal says what");
        return 0;
    }
    require(visit::sealed_text(*entry) == text, "one form only");
    require(entry->hash == sha256(text), "the hash is that of the bytes");
    require(visit::fault_of(*entry, {entry->sequence - 1, entry->previous}).empty() ||
                entry->sequence == 1,
            "what is read is sound");
    require(visit::body_of(*entry).has_value(), "the body is a tree");
    // Whatever it says, lists can be made of it.
    visit::VisitLine visit_line;
    visit::note(visit_line, *entry);
    visit::ThingLine thing_line;
    visit::note(thing_line, *entry);
    (void)visit::withdrawn({*entry});
    return 0;
}
