// Writes the header of the gas tables: gas_tables OUT PROPERTIES.json NAMES.json
#include <cstdio>
#include <exception>
#include <filesystem>
#include <fstream>

#include "tools/gas_tables.hpp"

int main(int argc, char** argv) {
    if (argc != 4) {
        std::fprintf(stderr, "usage: gas_tables OUT PROPERTIES.json NAMES.json\n");
        return 2;
    }
    try {
        std::ifstream properties(argv[2]);
        std::ifstream names(argv[3]);
        auto const header = gas_tables_header(nlohmann::ordered_json::parse(properties),
                                              nlohmann::ordered_json::parse(names));
        std::filesystem::create_directories(std::filesystem::path(argv[1]).parent_path());
        std::ofstream out(argv[1], std::ios::binary);
        out << header;
        out.close();
        if (out) return 0;
        std::fprintf(stderr, "gas_tables: %s cannot be written\n", argv[1]);
    } catch (std::exception const& error) {
        std::fprintf(stderr, "gas_tables: %s\n", error.what());
    }
    return 1;
}
