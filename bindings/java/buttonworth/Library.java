package buttonworth;

import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.lang.ref.Cleaner;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;

/** The compiled part, and who frees what it makes. */
final class Library {
  static final Cleaner CLEANER = Cleaner.create();

  private Library() {}

  static void load() {
    Path beside = beside(System.mapLibraryName("buttonworth_java"));
    if (beside != null && Files.exists(beside)) {
      System.load(beside.toString());
    } else if (!loadFromJar()) {
      System.loadLibrary("buttonworth_java"); // from -Djava.library.path
    }
  }

  /** Where a file would lie beside the jar, or beside the folder of classes; null if that is no folder. */
  private static Path beside(String name) {
    try {
      Path classes = Path.of(Library.class.getProtectionDomain().getCodeSource().getLocation().toURI());
      return classes.toAbsolutePath().resolveSibling(name);
    } catch (java.net.URISyntaxException | RuntimeException elsewhere) {
      return null;
    }
  }

  /** Whether the jar carries the libraries; each is laid in a folder of its own and gone again once it is loaded. */
  private static boolean loadFromJar() {
    try (InputStream names = Library.class.getResourceAsStream("native/libraries")) {
      if (names == null) return false;
      Path folder = Files.createTempDirectory("buttonworth");
      try {
        for (String name : new String(names.readAllBytes(), StandardCharsets.UTF_8).split("\n")) loadCopy(folder, name);
      } finally {
        Files.delete(folder);
      }
      return true;
    } catch (IOException fault) {
      throw new UncheckedIOException("the jar's libraries found no room: name a folder with -Djava.io.tmpdir=FOLDER", fault);
    }
  }

  private static void loadCopy(Path folder, String name) throws IOException {
    Path copy = folder.resolve(name);
    try (InputStream library = Library.class.getResourceAsStream("native/" + name)) {
      Files.copy(library, copy);
      System.load(copy.toString());
    } finally {
      Files.deleteIfExists(copy);
    }
  }
}
