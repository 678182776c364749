// Writes the headers of the US, wide-range and cubic tables:
// equation_tables OUT_FOLDER DATA_FOLDER
#include <cstdio>
#include <exception>
#include <filesystem>
#include <fstream>
#include <stdexcept>

#include "tools/equation_tables.hpp"

namespace {

using Json = nlohmann::ordered_json;

Json table(std::filesystem::path const& folder, char const* name) {
    std::ifstream in(folder / name);
    if (!in) throw std::runtime_error((folder / name).string() + " cannot be read");
    return Json::parse(in);
}

void write(std::filesystem::path const& path, std::string const& text) {
    std::ofstream out(path, std::ios::binary);
    out << text;
    out.close();
    if (!out) throw std::runtime_error(path.string() + " cannot be written");
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 3) {
        std::fprintf(stderr, "usage: equation_tables OUT_FOLDER DATA_FOLDER\n");
        return 2;
    }
    try {
        std::filesystem::path const out(argv[1]), in(argv[2]);
        std::filesystem::create_directories(out);
        auto const order = component_order(table(in, "component_names.json"));
        auto const gerg = table(in, "gerg2008.json");
        write(out / "us_tables.hpp", us_header(table(in, "gpa2145_16.json"), order));
        write(out / "gerg_tables.hpp",
              gerg_header(gerg, table(in, "equation_components.json"), order));
        write(out / "detail_tables.hpp", detail_header(table(in, "aga8_detail.json"), gerg));
        write(
            out / "cubic_tables.hpp",
            cubic_header(
                table(in, "critical_constants.json"), table(in, "cubic_interaction.json"), order));
        return 0;
    } catch (std::exception const& error) {
        std::fprintf(stderr, "equation_tables: %s\n", error.what());
    }
    return 1;
}
