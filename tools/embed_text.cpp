// Writes a header with the named files as text: embed_text OUT NAME FOLDER FILE...
// Each file becomes {"path as given", "content"} in gw::generated::NAME.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace {

// Long string literals are limited by the language's minimum; pieces of 8000 bytes join by
// themselves.
void write_literal(std::ofstream& out, std::string const& text) {
    constexpr std::size_t piece = 8000;
    if (text.empty()) out << "\"\"";
    for (std::size_t at = 0; at < text.size(); at += piece) {
        out << "\n        \"";
        for (std::size_t i = at; i < std::min(text.size(), at + piece); ++i) {
            auto const c = static_cast<unsigned char>(text[i]);
            if (c == '"' || c == '\\') {
                out << '\\' << text[i];
            } else if (c == '\n') {
                out << "\\n";
            } else if (c < 0x20 || c >= 0x7F || c == '?') {
                char octal[8];
                std::snprintf(octal, sizeof octal, "\\%03o", c);
                out << octal;
            } else {
                out << text[i];
            }
        }
        out << '"';
    }
}

// shipped_criteria -> ShippedCriteria
std::string type_name(std::string const& name) {
    std::string out;
    bool first = true;
    for (char const c : name) {
        if (c != '_') out += first && c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
        first = c == '_';
    }
    return out;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 4) {
        std::fprintf(stderr, "usage: embed_text OUT NAME FOLDER FILE...\n");
        return 2;
    }
    auto const type = type_name(argv[2]) + "Entry";
    std::filesystem::create_directories(std::filesystem::path(argv[1]).parent_path());
    std::ofstream out(argv[1], std::ios::binary);
    out << "// Generated from files under data/; not kept in the repository.\n#pragma once\n"
           "#include <array>\n#include <string_view>\n\nnamespace gw::generated {\n\n"
           "struct "
        << type << " {\n    std::string_view path, text;\n};\n"
        << "inline constexpr std::array<" << type << ", " << argc - 4 << "> " << argv[2]
        << " = {{\n";
    for (int i = 4; i < argc; ++i) {
        std::ifstream in(std::filesystem::path(argv[3]) / argv[i], std::ios::binary);
        if (!in) {
            std::fprintf(stderr, "embed_text: %s cannot be read\n", argv[i]);
            return 1;
        }
        std::string const text(std::istreambuf_iterator<char>(in), {});
        out << "    {\"" << argv[i] << "\",";
        write_literal(out, text);
        out << "},\n";
    }
    out << "}};\n\n}  // namespace gw::generated\n";
    out.close();
    return out ? 0 : 1;
}
