# Writes a text file as a C++ source: cmake -DFROM=… -DTO=… -DNAME=… -P embed.cmake
# As raw strings of some ten thousand bytes each, since compilers limit the length of one.
file(READ ${FROM} text)
string(LENGTH "${text}" length)
set(pieces "")
set(at 0)
while(at LESS length)
  string(SUBSTRING "${text}" ${at} 30000 piece)
  string(APPEND pieces "R\"embedded(${piece})embedded\"\n")
  math(EXPR at "${at} + 30000")
endwhile()
file(WRITE ${TO} "// Made from ${FROM} by embed.cmake.
namespace kerfwright::sheet {
extern const char* const ${NAME};
const char* const ${NAME} =
${pieces};
}  // namespace kerfwright::sheet
")
