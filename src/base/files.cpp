#include "kerfwright/files.hpp"

#include <fcntl.h>
#include <openssl/evp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fstream>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

std::string reason() { return std::strerror(errno); }

void write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw UserError(Fault::cannot_write, reason());
    text.remove_prefix(static_cast<std::size_t>(written));
  }
}

[[noreturn]] void refuse_to_write(const std::string& path, const std::string& why) {
  throw UserError(Fault::cannot_write, "Cannot write '" + path + "': " + why + ".");
}

/// @return the name beside `path` under which the text lies on the disk now
std::string write_temporary(const std::string& path, std::string_view text) {
  std::string temporary = path + ".part-" + std::to_string(::getpid());
  const int descriptor = ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (descriptor < 0) refuse_to_write(path, reason());
  try {
    write_all(descriptor, text);
    if (::fsync(descriptor) != 0) throw UserError(Fault::cannot_write, reason());
  } catch (const UserError& error) {
    ::close(descriptor);
    ::unlink(temporary.c_str());
    refuse_to_write(path, error.what());
  }
  if (::close(descriptor) != 0) {
    const std::string why = reason();
    ::unlink(temporary.c_str());
    refuse_to_write(path, why);
  }
  return temporary;
}

void take_name(const std::string& temporary, const std::string& path) {
  if (std::rename(temporary.c_str(), path.c_str()) == 0) return;
  const std::string why = reason();
  ::unlink(temporary.c_str());
  refuse_to_write(path, why);
}

void take_away(const std::string& path) {
  if (::unlink(path.c_str()) == 0 || errno == ENOENT) return;
  throw UserError(Fault::cannot_write, "Cannot take away '" + path + "': " + reason() + ".");
}

/// Takes away what has not got its own name.
struct Temporaries {
  std::vector<std::string> names;
  Temporaries() = default;
  Temporaries(const Temporaries&) = delete;
  Temporaries& operator=(const Temporaries&) = delete;
  ~Temporaries() {
    for (const std::string& name : names) ::unlink(name.c_str());
  }
};

/// Bytes; a scan is far smaller.
constexpr off_t largest_file = off_t{8} << 30;

}  // namespace

std::string read_file(const std::string& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0) {
    throw UserError(Fault::no_file, "Cannot read '" + path + "': " + reason() + ".");
  }
  if (!S_ISREG(status.st_mode)) {
    throw UserError(Fault::no_file, "Cannot read '" + path + "': it is not a plain file.");
  }
  if (status.st_size > largest_file) {
    throw UserError(
        Fault::damaged_file,
        "The file '" + path + "' has more than 8 GB; thin the scan and export it again.");
  }
  errno = 0;
  std::ifstream stream(path, std::ios::binary);
  std::string text;
  text.resize(static_cast<std::size_t>(status.st_size));
  if (!stream || !stream.read(text.data(), static_cast<std::streamsize>(text.size()))) {
    const std::string why = errno == 0 ? "it became shorter while it was read" : reason();
    throw UserError(Fault::no_file, "Cannot read '" + path + "': " + why + ".");
  }
  if (text.empty()) {
    throw UserError(Fault::empty_file, "The file '" + path + "' is empty.");
  }
  return text;
}

void write_file(const std::string& path, std::string_view text) {
  take_name(write_temporary(path, text), path);
}

void write_together(const std::vector<FileText>& files, const std::vector<std::string>& outdated) {
  Temporaries temporaries;
  for (const FileText& file : files) {
    struct stat status {};
    if (::stat(file.path.c_str(), &status) == 0 && S_ISDIR(status.st_mode)) {
      errno = EISDIR;
      refuse_to_write(file.path, reason());
    }
    temporaries.names.push_back(write_temporary(file.path, file.text));
  }
  for (auto file = files.rbegin(); file != files.rend(); ++file) take_away(file->path);
  for (const std::string& path : outdated) take_away(path);
  for (std::size_t i = 0; i < files.size(); ++i) take_name(temporaries.names[i], files[i].path);
  temporaries.names.clear();
}

std::string sha256_hex(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int size = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &size, EVP_sha256(), nullptr) != 1) {
    throw UserError(Fault::internal, "The SHA-256 of the library failed.");
  }
  std::string hex;
  for (unsigned int i = 0; i < size; ++i) {
    constexpr const char* digits = "0123456789abcdef";
    hex += digits[digest[i] >> 4];
    hex += digits[digest[i] & 15];
  }
  return hex;
}

}  // namespace kerfwright
